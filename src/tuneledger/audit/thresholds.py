"""Thresholds of conditions that read like another unit than they are marked."""

import numpy as np

from tuneledger.audit.conditions import comparisons
from tuneledger.audit.phrases import unit_of
from tuneledger.calibrations.model import Comparison, Correction
from tuneledger.signals import SIGNALS
from tuneledger.units import convert

# (signal, way) → what is less, or more, in its own unit, is hardly a threshold: common practice, no
# source. The other way a small number may be meant, as a closed throttle below 0.8 %.
ASKED: dict[tuple[str, str], tuple[float, float]] = {
    ("oil pressure", "below"): (25.0, 900.0),
    ("fuel pressure", "below"): (80.0, 25000.0),
    ("throttle position", "above"): (1.0, 100.0),
    ("accelerator position", "above"): (1.0, 100.0),
    ("manifold absolute pressure", "above"): (20.0, 450.0),
    ("engine speed", "above"): (20.0, 12000.0),
    ("engine speed", "below"): (20.0, 12000.0),
}
# Where a threshold in another unit would make sense.
MEANT: dict[str, tuple[float, float]] = {
    "oil pressure": (70.0, 800.0),
    "fuel pressure": (150.0, 20000.0),
    "throttle position": (5.0, 100.0),
    "accelerator position": (5.0, 100.0),
    "manifold absolute pressure": (60.0, 350.0),
    "engine speed": (500.0, 12000.0),
}
# Oil pressure of an engine that turns faster than this is never as low as at idle.
TURNING_RPM, TURNING_KPA = 2000.0, 70.0


def meant_unit(c: Comparison, correction: Correction, tried: dict[str, tuple[str, ...]]) -> str:
    """The unit in which a threshold would make sense, where it makes none as marked; else ""."""
    way, value = _asked(c)
    if c.signal is None or c.minus or c.over or c.rate or (c.signal, way) not in ASKED:
        return ""
    own = SIGNALS[c.signal].unit
    least, most = ASKED[c.signal, way]
    if c.signal == "oil pressure" and _while_turning(correction):
        least = TURNING_KPA
    if value <= 0.0 or least <= _in(own, value, unit_of(c)) <= most:
        return ""
    low, high = MEANT[c.signal]
    others = [unit for unit in (own, *tried.get(own, ())) if unit != unit_of(c)]
    return next((unit for unit in others if low <= _in(own, value, unit) <= high), "")


def _asked(c: Comparison) -> tuple[str, float]:
    if c.above is not None:
        return "above", float(c.above)
    if c.below is not None:
        return "below", float(c.below)
    return ("above", float(c.between[1])) if c.between is not None else ("", 0.0)


def _while_turning(correction: Correction) -> bool:
    return any(
        c.signal == "engine speed"
        and not (c.minus or c.over or c.rate)
        and c.above is not None
        and _in("rpm", float(c.above), unit_of(c)) >= TURNING_RPM
        for c in comparisons(correction)
    )


def _in(unit: str, value: float, marked: str) -> float:
    return float(convert(np.array([value]), marked, unit)[0])
