"""Engine speed, road speed and gear hang together: the gearbox between them has few ratios."""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.roles.evidence import Evidence
from tuneledger.roles.relations.common import (
    alike,
    graded,
    likeliest,
    stand_in,
    thin_run,
)

_MOVING_KMH = 12.0
_FEWEST = 40
_FEW_GEARS = 2
# A car whose speed changes by so much has changed gear.
_GEAR_CHANGES = 3.0
# A copy for a dial has so much fewer steps.
_COARSE = 0.6
# A car that stands, and an engine that turns.
_STANDING_KMH, _TURNING_RPM, _FEWEST_STANDING = 0.5, 300.0, 5


def weigh(evidence: Evidence) -> None:
    """Add what engine speed, road speed and gear say of one another."""
    _gears(evidence)
    _shafts(evidence)
    _slow_twins(evidence)
    _idle_target(evidence)
    _oil_pressure(evidence)


def _ratio(rpm: FloatArray, speed: FloatArray) -> FloatArray:
    """Logarithm of engine speed over road speed while the car moves, else NaN."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.log(rpm / speed)
    return np.where((speed > _MOVING_KMH) & (rpm > 500), ratio, np.nan)


def _gears(evidence: Evidence) -> None:
    """A gear channel steps as engine speed over road speed steps."""
    turning = stand_in(evidence, "engine speed")
    road = stand_in(evidence, "vehicle speed", least=0.3)
    if turning is None or road is None:
        return
    ratio = _ratio(thin_run(evidence, *turning), thin_run(evidence, *road))
    if np.isfinite(ratio).sum() < _FEWEST:
        return
    for i in evidence.candidates("gear", least=1e-4, most=8):
        gear = thin_run(evidence, i)
        levels = np.unique(gear[np.isfinite(ratio) & (gear >= 1)]).size
        likeness = -alike(ratio, np.log(np.maximum(gear, 0.5)), gear >= 1)
        if likeness > 0.75:
            says = "it steps as engine speed over road speed does"
            # with two levels, any counter that steps once while the car picks up does so too
            most = 5.0 if levels > _FEW_GEARS else 1.5
            evidence.add(i, "gear", most * graded(likeness, 0.75, 0.95), says)
        elif np.nanmax(gear) > 1:
            evidence.add(i, "gear", -3.0)


def _shafts(evidence: Evidence) -> None:
    """A shaft behind the gearbox keeps one ratio to road speed and stands with the car."""
    road = stand_in(evidence, "vehicle speed", least=0.3)
    if road is None:
        return
    speed = thin_run(evidence, *road)
    for i in evidence.candidates("engine speed", least=1e-3, most=8):
        turning = thin_run(evidence, i, "engine speed")
        moving, stands = speed > _MOVING_KMH, speed < _STANDING_KMH
        if moving.sum() < _FEWEST:
            continue
        if (turning[stands] > _TURNING_RPM).sum() >= _FEWEST_STANDING:
            says = "it turns while the car stands"
            evidence.add(i, "engine speed", 0.7, says)
            continue
        ratio = turning[moving] / speed[moving]
        if not np.isfinite(ratio).any():
            continue
        middle = float(np.nanmedian(ratio))
        spread = float(np.nanmedian(np.abs(ratio / middle - 1.0))) if middle > 0 else 1.0
        if spread < 0.02 and np.nanpercentile(np.abs(ratio / middle - 1.0), 90) < 0.06:
            if stands.sum() >= _FEWEST_STANDING or _changed_gear(speed[moving]):
                evidence.add(i, "engine speed", -5.0)
        elif spread > 0.05:
            evidence.add(
                i, "engine speed", 0.7, "it changes its ratio to road speed with the gears"
            )


def _changed_gear(speed: FloatArray) -> bool:
    """Whether a car went so much faster and slower that no gear takes it all: in one gear, an
    engine keeps its ratio to road speed too.
    """
    slow, fast = np.nanpercentile(speed, [2, 98])
    return bool(fast > _GEAR_CHANGES * slow)


def _slow_twins(evidence: Evidence) -> None:
    """Of two channels that run alike, the one that is smoothed or coarse is only a copy."""
    for signal in ("engine speed", "vehicle speed"):
        found = evidence.candidates(signal, least=1e-3, most=5)
        for i in found:
            for k in found:
                one, other = (thin_run(evidence, c, signal) for c in (i, k))
                if i == k or alike(one, other) < 0.85:
                    continue
                quick, slow = (np.nansum(np.abs(np.diff(v))) for v in (one, other))
                if np.nanmedian(np.abs(one - other)) >= 0.1 * np.nanmedian(one):
                    continue
                if slow < 0.97 * quick:
                    evidence.add(k, signal, -0.7 - 2.0 * graded(1.0 - slow / quick, 0.03, 0.15))
                coarse = evidence.facts[k].distinct / evidence.facts[i].distinct
                if signal == "engine speed":  # a road speed may well be coarser than the wheels
                    evidence.add(k, signal, -2.5 * graded(-coarse, -_COARSE, -0.5 * _COARSE))


def _idle_target(evidence: Evidence) -> None:
    """A target of idle speed lies where the engine idles, and stands where the engine moves."""
    rpm = stand_in(evidence, "engine speed")
    if rpm is None:
        return
    turning = thin_run(evidence, *rpm)
    idle = turning[
        (turning > 350) & (turning < np.nanmin(turning[turning > 350], initial=1e9) * 1.35)
    ]
    if idle.size < 10:
        return
    for i in evidence.candidates("idle speed target", least=1e-3, most=6):
        if i == rpm[0]:
            continue
        target = thin_run(evidence, i, "idle speed target")
        off = abs(float(np.nanmedian(target)) / float(np.median(idle)) - 1.0)
        says = f"it stands at {np.nanmedian(target):.0f} rpm, where the engine idles"
        if off < 0.15 or abs(float(np.nanmin(target)) / float(np.median(idle)) - 1.0) < 0.08:
            evidence.add(i, "idle speed target", 1.5, says)
        elif off > 0.5:
            evidence.add(i, "idle speed target", -2.0)


def _oil_pressure(evidence: Evidence) -> None:
    """Oil pressure rises with engine speed, from well above the outside air."""
    rpm = stand_in(evidence, "engine speed")
    if rpm is None:
        return
    turning = thin_run(evidence, *rpm)
    filling = likeliest(evidence, "manifold absolute pressure")
    charge = None if filling is None else thin_run(evidence, filling)
    for i in evidence.candidates("oil pressure", least=1e-3, most=8):
        pressure = thin_run(evidence, i, "oil pressure")
        likeness = alike(turning, pressure)
        if charge is not None and alike(charge, pressure) > likeness:
            likeness = 0.0  # it goes with the charge, as fuel pressure does
        if likeness > 0.6 and np.nanpercentile(pressure, 90) > 250:
            says = "it rises with engine speed as oil pressure does"
            evidence.add(i, "oil pressure", 2.0 * graded(likeness, 0.6, 0.9), says)
        elif likeness < 0.3:
            evidence.add(i, "oil pressure", -1.5)
