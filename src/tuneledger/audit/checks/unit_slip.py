"""An axis or a threshold in another unit than it says

**What it finds.** An axis whose points are not what its signal can be in the unit that it names,
but are in another unit of the same kind: a Fahrenheit axis marked Celsius, a psi axis marked kPa,
a throttle in shares of one marked percent; pressures above the outside air where absolute ones
belong; and an axis of which half the points or more are what its signal can never be. So are
thresholds of conditions that hardly anybody asks for as they are marked, and that make sense in
another unit: oil pressure below 23 "kPa", a throttle above 0.4 "%". What a signal works in and what
is asked of it is common practice, no source; what it can be at all is what `tuneledger signals`
lists.

**Why it matters.** The correction acts at the wrong place or not at all. At 100 °C coolant, a
table with its points at 180 and 212 "degC" still posts what was meant for a cold engine; a guard at
23 kPa, for 23 psi, waits until the oil is all but gone.

**Example.** `{ signal = "engine coolant temperature", unit = "degC", at = [32, 104, 176, 212] }`.

**What to do.** Where the points make sense in another unit, correct `unit`, not the points. Where
they can never be, find out which is wrong: signal, unit or points. Pressures above the outside air
say so with `minus = "barometric pressure"`. Then look at what else was copied with it.

**When to ignore it.** Where the points really stand there, to have the ends out of reach, or the
threshold is really meant to be so low.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.audit.conditions import every_condition
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, in_words, unit_of
from tuneledger.audit.sheet import Audited
from tuneledger.audit.thresholds import meant_unit
from tuneledger.calibrations.model import Axis, Calibration, Comparison
from tuneledger.signals import SIGNALS
from tuneledger.units import convert
from tuneledger.wording import listing, number, quantity, unit_words

# signal → (its last point is at least, at most, of an axis that covers its work), in its own unit
WORKS: dict[str, tuple[float, float]] = {
    "engine coolant temperature": (60.0, 135.0),
    "intake air temperature": (30.0, 120.0),
    "oil temperature": (60.0, 165.0),
    "fuel temperature": (20.0, 100.0),
    "manifold absolute pressure": (60.0, 450.0),
    "barometric pressure": (70.0, 110.0),
    "engine speed": (900.0, 12000.0),
    "throttle position": (3.0, 100.0),
    "accelerator position": (3.0, 100.0),
    "module voltage": (10.0, 20.0),
    "vehicle speed": (5.0, 450.0),
}
TRIED: dict[str, tuple[str, ...]] = {
    "degC": ("degF", "K"),
    "kPa": ("psi", "bar", "hPa", "inHg"),
    "rpm": ("krpm", "rps"),
    "%": ("1",),
    "V": ("mV",),
    "km/h": ("mph", "m/s"),
}
ABSOLUTE = ("manifold absolute pressure", "barometric pressure")
OUTSIDE_KPA = 101.325  # the standard atmosphere, ISO 2533
FEWEST = 3  # points: fewer say too little
_UNIT = "Correct the unit, not the points"
_ABSOLUTE = "Write absolute pressures, or that the axis is less the barometric pressure (minus)"
_NEVER = "Find out which is wrong, the signal, the unit or the points, and correct that"


def check(sheet: Audited) -> Iterator[Said]:
    """Axes of the map and of the enabled corrections, and the thresholds of their conditions."""
    yield from _thresholds(sheet)
    enabled = ("spark.map", *(f"{path}." for path, _ in sheet.enabled))
    yield from (s for s in misread_axes(sheet.calibration) if s.paths[0].startswith(enabled))


def misread_axes(calibration: Calibration) -> Iterator[Said]:
    """What is told of the axes of the map and of all corrections, enabled or not."""
    axes = [
        ("The map", f"spark.map.axes[{i}]", a) for i, a in enumerate(calibration.spark.map.axes)
    ]
    for index, correction in enumerate(calibration.spark.correction):
        path = f"spark.correction[{index}]"
        for name, table in (("", correction), (".weight", correction.weight)):
            for i, axis in enumerate(table.axes if table else ()):
                axes.append((called(correction), f"{path}{name}.axes[{i}]", axis))
    for owner, path, axis in axes:
        told = _reads_like(axis)
        if told is None:
            continue
        points = listing([number(axis.at[0]), number(axis.at[-1])], "to")
        yield Said(
            "fault",
            (path,),
            f"{owner}: {axis.signal} from {points} {told[0]}.",
            f"{told[1]}; then look at what else was copied with it.",
        )


def _thresholds(sheet: Audited) -> Iterator[Said]:
    """Those that can be reached; of the others it is told that they never hold."""
    for correction, path, c in every_condition(sheet):
        if not isinstance(c, Comparison) or not sheet.possible.ever(c)[0]:
            continue
        meant = meant_unit(c, correction, TRIED)
        if meant:
            like = "shares of one" if meant == "1" else unit_words(meant)
            yield Said(
                "fault",
                (path,),
                f"{called(correction)}: '{in_words(c)}' is marked {unit_words(unit_of(c))}, but "
                f"reads like {like}.",
                "Correct the unit, not the number; then look at what else was copied with it.",
            )


def _reads_like(axis: Axis) -> tuple[str, str] | None:
    """What the points are rather than what they are marked as, and what to do about it; None where
    nothing speaks for it."""
    marked = f"is marked {unit_words(unit_of(axis)) or 'no unit'}, but reads like"
    meant = _meant(axis)
    if meant is not None:
        return f"{marked} {'shares of one' if meant == '1' else unit_words(meant)}", _UNIT
    signal = SIGNALS.get(axis.signal or "")
    if signal is None or axis.minus or axis.over or axis.rate:
        return None
    points = convert(axis.points, axis.unit or signal.unit, signal.unit)
    never = (points < signal.lowest) | (points > signal.highest)
    if signal.name in ABSOLUTE and points[0] < 0.0 and _works(signal.name, points + OUTSIDE_KPA):
        return f"{marked} pressure above the outside air, not absolute", _ABSOLUTE
    few = never.size < FEWEST
    if not never.any() or (not never.all() if few else 2 * never.sum() < never.size):
        return None
    ends = [quantity(end, signal.unit) for end in (signal.lowest, signal.highest)]
    return f"can never be: it is {listing(ends, 'to')}", _NEVER


def _meant(axis: Axis) -> str | None:
    """The unit in which the axis would make sense, where it makes none as it stands."""
    plain = not (axis.minus or axis.over or axis.rate)
    if axis.signal not in WORKS or not plain or len(axis.at) < FEWEST:
        return None
    own = SIGNALS[axis.signal].unit
    points, told = convert(axis.points, axis.unit or own, own), axis.unit not in (None, own)
    if _works(axis.signal, points, by_choice=told):
        return None
    others = [unit for unit in (own, *TRIED.get(own, ())) if unit != (axis.unit or own)]
    return next((u for u in others if _works(axis.signal, convert(axis.points, u, own))), None)


def _works(signal: str, points: FloatArray, *, by_choice: bool = False) -> bool:
    """by_choice: somebody chose this unit over the usual one; a table may then end at half way,
    as one for the warm-up does"""
    least, most = WORKS[signal]
    least = least / 2.0 if by_choice else least
    room = 1e-6
    inside = SIGNALS[signal].lowest - room <= points[0]
    return bool(inside and least - room <= points[-1] <= most + room and np.isfinite(points).all())
