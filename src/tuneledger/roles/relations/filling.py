"""Throttle, pedal, manifold pressure, load and mixture: what the foot asks for, the engine gets."""

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

_AIR_LOW = 75.0
_STILL = 3
_CLOSE_LAMBDA = 0.03


def weigh(evidence: Evidence) -> None:
    """Add what throttle, pedal, pressure, load and mixture say of one another."""
    _pressure(evidence)
    _gauge_twin(evidence)
    _outside_air(evidence)
    evidence.take_stock()  # what follows goes by the pressure that has just been found
    _load(evidence)
    _foot(evidence)
    _mixture(evidence)


def _driver(evidence: Evidence) -> FloatArray | None:
    """The likeliest throttle or pedal, or what both and their twins run like."""
    found = stand_in(evidence, "throttle position", "accelerator position", least=0.35)
    return None if found is None else thin_run(evidence, *found)


def _pressure(evidence: Evidence) -> None:
    """Manifold pressure follows the throttle, at the latest when it shuts."""
    driver = _driver(evidence)
    if driver is None:
        return
    shut, open_ = np.nanpercentile(driver, [15, 85])
    for i in evidence.candidates("manifold absolute pressure", least=1e-3, most=8):
        pressure = thin_run(evidence, i, "manifold absolute pressure")
        likeness = alike(driver, pressure)
        when_shut = pressure[driver <= shut + 1]
        if open_ - shut < 5 or not np.isfinite(when_shut).any():
            continue
        closed = float(np.nanmedian(when_shut))
        if likeness > 0.55 and 12 < closed < 75:
            says = "it falls when the throttle shuts and rises when it opens"
            evidence.add(i, "manifold absolute pressure", 2.5 * graded(likeness, 0.55, 0.85), says)
        elif likeness < 0.3:
            evidence.add(i, "manifold absolute pressure", -2.0)


def _gauge_twin(evidence: Evidence) -> None:
    """Two pressures that differ by the outside air are one pressure, counted twice."""
    found = evidence.candidates("manifold absolute pressure", least=1e-3, most=6)
    for i in found:
        for k in found:
            reading = evidence.readings[k, "manifold absolute pressure"]
            if i == k or reading.offset < _AIR_LOW:
                continue  # k is not one that was read as gauge pressure
            one, other = (thin_run(evidence, c, "manifold absolute pressure") for c in (i, k))
            absolute = evidence.readings[i, "manifold absolute pressure"].offset < _AIR_LOW
            if absolute and alike(one, other) > 0.97:
                says = "another channel is the same pressure counted from the outside air"
                evidence.add(i, "manifold absolute pressure", 1.5, says)
                evidence.add(k, "manifold absolute pressure", -2.5)


def _outside_air(evidence: Evidence) -> None:
    """The outside air knows nothing of the engine."""
    driver = _driver(evidence)
    if driver is None:
        return
    for i in evidence.candidates("barometric pressure", least=1e-3, most=8):
        likeness = abs(alike(driver, thin_run(evidence, i)))
        if likeness > 0.35 and evidence.facts[i].distinct > 3:
            evidence.add(i, "barometric pressure", -4.0 * graded(likeness, 0.35, 0.7))


def _load(evidence: Evidence) -> None:
    """Engine load goes with manifold pressure."""
    found = likeliest(evidence, "manifold absolute pressure", 0.5)
    if found is None:
        return
    pressure = thin_run(evidence, found, "manifold absolute pressure")
    likeness = {
        i: alike(pressure, thin_run(evidence, i, "engine load"))
        for i in evidence.candidates("engine load", least=1e-3, most=8)
    }
    best = max(likeness.values(), default=0.0)
    for i, own in likeness.items():
        if own > 0.8:
            says = "it goes with manifold pressure"
            # what the foot does goes with the pressure too, though never as closely
            behind = 2.5 * graded(best - own, 0.01, 0.06)
            evidence.add(i, "engine load", 3.2 * graded(own, 0.8, 0.97) - behind, says)
        else:
            evidence.add(i, "engine load", -2.0 * graded(0.8 - own, 0.0, 0.2))


def _foot(evidence: Evidence) -> None:
    """Pedal and throttle go together; what follows neither is neither."""
    pressure = likeliest(evidence, "manifold absolute pressure", 0.5)
    driven = None
    if pressure is not None:
        driven = thin_run(evidence, pressure, "manifold absolute pressure")
    for signal, other in (
        ("throttle position", "accelerator position"),
        ("accelerator position", "throttle position"),
    ):
        partner = likeliest(evidence, other, 0.5)
        for i in evidence.candidates(signal, least=1e-3, most=8):
            if evidence.facts[i].distinct <= _STILL:
                continue
            own = thin_run(evidence, i, signal)
            if driven is not None:
                likeness = alike(own, driven)
                if likeness < 0.4:
                    evidence.add(i, signal, -2.0)
                elif likeness > 0.6:
                    evidence.add(i, signal, 0.8, "manifold pressure follows it")
            if partner is not None and partner != i:
                likeness = alike(own, thin_run(evidence, partner, other))
                if likeness > 0.7:
                    weight = 1.0 * graded(likeness, 0.7, 0.9)
                    evidence.add(i, signal, weight, f"it goes with {other}")


def _mixture(evidence: Evidence) -> None:
    """Of two mixtures, the asked-for one is the calmer, and the measured one wanders round it."""
    found = evidence.candidates("measured lambda", least=0.01, most=4)
    for i in found:
        for k in evidence.candidates("commanded lambda", least=0.01, most=4):
            if i == k:
                continue
            wild, calm = (evidence.facts[c].restless * evidence.facts[c].span for c in (i, k))
            if wild <= 2.0 * calm:
                continue
            measured, asked = (thin_run(evidence, c, "measured lambda") for c in (i, k))
            close = float(np.nanmean(np.abs(measured - asked) < _CLOSE_LAMBDA))
            weight = 0.8 + 1.4 * graded(close, 0.3, 0.7)
            evidence.add(i, "measured lambda", weight, "it wanders round a calmer channel like it")
            evidence.add(k, "commanded lambda", weight, "a livelier channel wanders round it")
            evidence.add(k, "measured lambda", -0.8)
            evidence.add(i, "commanded lambda", -0.8)
