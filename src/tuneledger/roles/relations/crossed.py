"""Coolant and intake air under each other's name.

A coolant warms until its thermostat opens and stays there; the air that enters stays near the
outside, and moves with load. Where the channel named coolant never warms while the one named intake
air ends warm and steady, above it, the two are named the wrong way round, or the sensors are: names
and physics then stand against each other, and neither is followed unless a sheet decides.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration
from tuneledger.roles.evidence import SOUGHT, Crossed, Evidence
from tuneledger.roles.model import Role, Roles
from tuneledger.roles.relations.advance import DELIVERED
from tuneledger.roles.relations.common import likeliest, thin_run
from tuneledger.roles.relations.outcome import so_far
from tuneledger.roles.relations.sheetunits import rows_right

_COOLANT, _AIR = "engine coolant temperature", "intake air temperature"
_CLEAR = 0.8
_TOLD = 50.0  # somebody's word
# A thermostat opens between 75 and 105 °C: common practice, no source. °C, and shares of a run.
_WARM_C, _HOTTEST_C, _STEADY_C, _NEVER_WARM_C, _ABOVE_C = 72.0, 112.0, 8.0, 62.0, 15.0
_END = 0.2
_MOST_RESTLESS = 8.0
# Shares of the rows that a sheet gives right, as for units.
_FITS, _BETTER, _SETTLED = 0.95, 0.05, 12.0


def weigh(evidence: Evidence) -> None:
    """Let names and physics stand against each other where the two are crossed."""
    coolant, air = (likeliest(evidence, signal, _CLEAR) for signal in (_COOLANT, _AIR))
    if coolant is None or air is None:
        return
    columns = [SOUGHT.index(_COOLANT), SOUGHT.index(_AIR)]
    if (evidence.weights[[coolant, air]][:, columns] > _TOLD).any():
        return
    named_coolant = thin_run(evidence, coolant, _COOLANT)
    named_air = thin_run(evidence, air, _AIR)
    if not (_runs_as_coolant(named_air) and _never_warms(named_coolant, named_air)):
        return
    for signal, j in zip((_COOLANT, _AIR), columns, strict=True):
        half = 0.5 * float(evidence.weights[coolant, j] - evidence.weights[air, j])
        evidence.add(coolant, signal, -half)
        evidence.add(air, signal, half)
    names = [evidence.facts[i].channel.name for i in (coolant, air)]
    evidence.crossed = Crossed(
        coolant,
        air,
        f"{names[0]} and {names[1]} look as if they were named the wrong way round: {names[1]} "
        f"ends at {_end(named_air):.0f} °C and stays there, as a coolant does, while {names[0]} "
        f"never gets warmer than {np.nanmax(named_coolant):.0f} °C",
    )


def settle(evidence: Evidence, sheets: Sequence[Calibration]) -> None:
    """Follow names or physics where a sheet comes out as delivered one way only; say what was done.

    Before this both are as likely.
    """
    crossed = evidence.crossed
    if crossed is None:
        return
    right = {way: _right(evidence, sheets, *way) for way in (crossed.as_named, crossed.as_they_run)}
    best = max(right, key=lambda way: right[way])
    other = min(right, key=lambda way: right[way])
    if right[best] >= _FITS and right[best] - right[other] >= _BETTER:
        for channel, signal in zip(best, (_COOLANT, _AIR), strict=True):
            evidence.add(channel, signal, _SETTLED, "only so does the sheet come out as delivered")
        how = "as they are named" if best == crossed.as_named else "the other way round"
        evidence.notes.append(
            f"{crossed.says}; they are read {how}, since only so the sheet comes out as delivered"
        )
        return
    evidence.notes.append(f"{crossed.says}; neither is used until a roles file says which is which")


def _right(evidence: Evidence, sheets: Sequence[Calibration], coolant: int, air: int) -> float:
    """The best share of rows that any sheet gives right, with these two channels."""
    roles = dict(so_far(evidence).by_signal)
    for signal, channel in ((_COOLANT, coolant), (_AIR, air)):
        reading = evidence.readings.get((channel, signal))
        if reading is None:
            return 0.0
        own = evidence.facts[channel].channel
        roles[signal] = Role(signal, own, reading.unit, reading.scale, reading.offset)
    if DELIVERED not in roles:
        return 0.0
    return max((rows_right(evidence, Roles(roles), sheet)[0] for sheet in sheets), default=0.0)


def _runs_as_coolant(values: FloatArray) -> bool:
    own = values[np.isfinite(values)]
    last = own[-max(1, int(_END * own.size)) :] if own.size else own
    if not own.size or not _WARM_C <= np.median(last) <= _HOTTEST_C or np.ptp(last) > _STEADY_C:
        return False
    span = float(np.ptp(own))
    return span <= _STEADY_C or float(np.abs(np.diff(own)).sum()) <= _MOST_RESTLESS * span


def _never_warms(values: FloatArray, other: FloatArray) -> bool:
    hottest = float(np.nanmax(values)) if np.isfinite(values).any() else np.inf
    return hottest < min(_NEVER_WARM_C, _end(other) - _ABOVE_C)


def _end(values: FloatArray) -> float:
    own = values[np.isfinite(values)]
    return float(np.median(own[-max(1, int(_END * own.size)) :])) if own.size else np.nan
