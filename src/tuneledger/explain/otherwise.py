"""What a correction would post if its thresholds fell otherwise than the log has them.

The ECU may have compared a calmer number than the log shows, or one a little to either side of it.
Four readings bound what it can have seen: the log's numbers with their noise averaged out, and the
numbers as they are, each with every threshold moved as far as the log leaves open, once so that the
correction acts as little as possible and once as much.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import AnyOf, Calibration, Comparison, Condition, Correction
from tuneledger.evaluate.corrections import named_corrections
from tuneledger.evaluate.model import Contribution, Inputs
from tuneledger.evaluate.readings import read
from tuneledger.evaluate.replay import contributions
from tuneledger.explain.doubt import HALF, WIDE, noise
from tuneledger.logs.facts import quantisation_step

# Noise is averaged over the longest of these in which the channel does nothing but make noise.
_CALM_S = (16.0, 8.0, 4.0, 2.0, 1.0)
_FEWEST_ROWS = 5
_ONLY_NOISE = 1.1
# Noise this small beside the step is the rounding itself.
_NOISY = 0.3
# Turns a median of absolute values into a spread.
_SPREAD_OF_MEDIAN = 1.4826
# Gears, modes and flags are counts: known exactly.
_MOST_COUNTED = 15


@dataclass(frozen=True, eq=False)
class Otherwise:
    """The bounds of one correction's postings.

    least, most: with the noise averaged out; where the two agree, the stretch as a whole tells
    least_wide, most_wide: row by row, with all the noise that a single sample has
    where: the condition that is in doubt
    """

    least: Contribution
    most: Contribution
    least_wide: Contribution
    most_wide: Contribution
    where: Comparison


def otherwise(calibration: Calibration, inputs: Inputs, *, file: str) -> dict[str, Otherwise]:
    """Correction id → its bounds, for enabled corrections with a threshold in doubt anywhere."""
    spark = calibration.spark
    doubts = {
        c.id: found
        for c in spark.correction
        if c.enabled and c.has_numbers and (found := _in_doubt(c, inputs)) is not None
    }
    if not doubts:
        return {}
    calm = _Calm(inputs, frozenset(name for where in doubts.values() for name in _names(where)))
    # Only what is in doubt, and what it asks for, is carried out again.
    asked = {n for c in spark.correction if c.id in doubts for n in named_corrections(c)}
    some = tuple(c for c in spark.correction if c.id in doubts or c.id in asked)

    def carried_out(way: int, on: "Inputs | _Calm") -> dict[str, Contribution]:
        moved = tuple(_moved(c, way, on) if c.id in doubts else c for c in some)
        only = spark.model_copy(update={"correction": moved})
        sheet = calibration.model_copy(update={"spark": only})
        return {p.correction: p for p in contributions(sheet, on, file=file)}

    least, most = carried_out(-1, calm), carried_out(1, calm)
    least_wide, most_wide = carried_out(-1, inputs), carried_out(1, inputs)
    return {
        name: Otherwise(least[name], most[name], least_wide[name], most_wide[name], where)
        for name, where in doubts.items()
    }


def _in_doubt(correction: Correction, inputs: Inputs) -> Comparison | None:
    """The first condition whose reading comes within what is resolved of a threshold."""
    for comparison in _comparisons(correction.when):
        number = read(comparison, inputs)
        if number is None:
            continue
        width = _width(number, averaged=1)
        limits = np.array(_limits(comparison))
        if width and (np.abs(number[:, None] - limits[None, :]) <= width).any():
            return comparison
    return None


def _comparisons(conditions: Sequence[Condition]) -> Iterator[Comparison]:
    """Every comparison with a threshold; a time since something is none."""
    for condition in conditions:
        if isinstance(condition, AnyOf):
            yield from _comparisons(condition.any)
        elif isinstance(condition, Comparison) and condition.since is None and _limits(condition):
            yield condition


def _limits(c: Comparison) -> tuple[float, ...]:
    limits = (c.above, c.below, c.release, *(c.between or ()))
    return tuple(float(limit) for limit in limits if limit is not None)


def _width(number: FloatArray, *, averaged: int) -> float:
    """How far the ECU's number may lie from the log's, averaged over so many rows; 0 for counts.

    Averaging takes the noise down with the root of the rows, of which neighbours may be alike; and
    noise as wide as the step takes away what rounding hides.
    """
    known = number[np.isfinite(number)]
    if known.size == 0 or _counted(known):
        return 0.0
    step, spread = _step(known), noise(number)
    if averaged <= 1 or spread <= _NOISY * step:
        return max(HALF * step, WIDE * spread)
    rounding = HALF * step * float(np.exp(-2.0 * (np.pi * spread / step) ** 2)) if step else 0.0
    return rounding + WIDE * spread / float(np.sqrt(max(1.0, averaged / 2.0)))


def _counted(known: FloatArray) -> bool:
    whole = bool(np.all(known == np.round(known)))
    return whole and float(known.min()) >= 0.0 and float(known.max()) <= _MOST_COUNTED


def _step(known: FloatArray) -> float:
    """The step; of a channel that stands still, what its decimals leave."""
    if known.min() < known.max():
        return quantisation_step(known) or 0.0
    text = f"{known[0]:.6f}".rstrip("0")
    return float(10.0 ** -(len(text) - text.index(".") - 1))


def _names(c: Comparison) -> set[str]:
    return {name for name in (c.signal, c.channel, c.minus, c.over) if name}


def _moved(correction: Correction, way: int, inputs: "Inputs | _Calm") -> Correction:
    """The correction with its thresholds moved so that it acts more (way 1) or less (−1)."""
    update: dict[str, object] = {
        "when": tuple(_shifted(condition, way, inputs) for condition in correction.when)
    }
    if isinstance(correction.until, Comparison | AnyOf):
        update["until"] = _shifted(correction.until, -way, inputs)
    return correction.model_copy(update=update)


def _shifted(condition: Condition, way: int, inputs: "Inputs | _Calm") -> Condition:
    if isinstance(condition, AnyOf):
        inner = tuple(_shifted(one, way, inputs) for one in condition.any)
        return condition.model_copy(update={"any": inner})
    if not isinstance(condition, Comparison) or condition.since is not None:
        return condition
    calm = inputs if isinstance(inputs, _Calm) else None
    number = read(condition, calm.raw if calm else inputs)
    if number is None or not _limits(condition):
        return condition
    by = way * _width(number, averaged=_averaged(number, inputs.times) if calm else 1)
    update: dict[str, object] = {}
    if condition.above is not None:
        update["above"] = condition.above - by
    if condition.below is not None:
        update["below"] = condition.below + by
    if condition.release is not None:
        update["release"] = condition.release + (by if condition.below is not None else -by)
    if condition.between is not None:
        update["between"] = (condition.between[0] - by, condition.between[1] + by)
    return condition.model_copy(update=update)


class _Calm:
    """Inputs with the noise of some channels averaged out, save where they move by more."""

    def __init__(self, raw: Inputs, names: frozenset[str]) -> None:
        self.raw, self._names = raw, names
        self._kept: dict[tuple[str, str, str | None], FloatArray | None] = {}

    @property
    def times(self) -> FloatArray:
        return self.raw.times

    def signal(self, name: str, unit: str | None) -> FloatArray | None:
        return self._calmed("signal", name, unit, self.raw.signal(name, unit))

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        return self._calmed("channel", name, unit, self.raw.channel(name, unit))

    def _calmed(
        self, what: str, name: str, unit: str | None, values: FloatArray | None
    ) -> FloatArray | None:
        if values is None or name not in self._names:
            return values
        key = (what, name, unit)
        if key not in self._kept:
            self._kept[key] = _calm(values, _averaged(values, self.times))
        return self._kept[key]


def _averaged(values: FloatArray, times: FloatArray) -> int:
    """Over how many rows a channel's noise can be averaged, an odd number; 1: not at all."""
    known = values[np.isfinite(values)]
    spread = noise(values)
    row_s = float(np.median(np.diff(times))) if times.size > 1 else 0.0
    if row_s <= 0 or known.size == 0 or _counted(known) or spread <= _NOISY * _step(known):
        return 1
    for length_s in _CALM_S:
        rows = max(_FEWEST_ROWS, round(length_s / row_s)) | 1
        if rows >= known.size:
            continue
        left = np.abs(values - _mean(values, rows))
        left = left[np.isfinite(left)]
        if _SPREAD_OF_MEDIAN * float(np.median(left)) <= _ONLY_NOISE * spread:
            return rows
    return 1


def _calm(values: FloatArray, rows: int) -> FloatArray:
    """The values averaged, but as they are where they move by more than their noise."""
    if rows <= 1:
        return values
    mean = _mean(values, rows)
    still = np.abs(values - mean) <= (WIDE + 1.0) * noise(values)
    return np.where(still, mean, values)


def _mean(values: FloatArray, rows: int) -> FloatArray:
    """The mean over so many rows around each; NaN where the row itself is."""
    finite = np.isfinite(values)
    total = np.concatenate(([0.0], np.cumsum(np.where(finite, values, 0.0))))
    count = np.concatenate(([0], np.cumsum(finite)))
    at = np.arange(values.size)
    low, high = np.maximum(at - rows // 2, 0), np.minimum(at + rows // 2 + 1, values.size)
    mean: FloatArray = np.full(values.shape, np.nan)
    np.divide(total[high] - total[low], count[high] - count[low], out=mean, where=finite)
    return mean
