"""What a correction would post if its thresholds fell otherwise than the log has them.

The ECU may have compared a calmer number than the log shows, or one a little to either side of it.
Four readings bound what it can have seen: the log's numbers with their noise averaged out, and the
numbers as they are, each with every threshold moved as far as the log leaves open, once so that the
correction acts as little as possible and once as much. What is sampled seldom may have passed a
threshold at any moment between two of its samples.
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from tuneledger.calibrations.model import AnyOf, Calibration, Comparison, Condition, Correction
from tuneledger.calibrations.named import named_corrections
from tuneledger.evaluate.model import Contribution, Inputs
from tuneledger.evaluate.replay import contributions
from tuneledger.explain.calm import Calm
from tuneledger.explain.doubt import HALF, WIDE
from tuneledger.explain.grain import NOISY, Grain, Number
from tuneledger.explain.seldom import Seldom, crossed
from tuneledger.record import record

# A comparison as it would be if it held the sooner (1) or the later (−1), as far as the log allows.
Wide = Callable[[Comparison, int], Comparison]


@record(eq=False)
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


def otherwise(
    calibration: Calibration, inputs: Inputs, grain: Grain, *, file: str
) -> dict[str, Otherwise]:
    """Correction id → its bounds, for enabled corrections with a threshold in doubt anywhere."""
    spark = calibration.spark
    doubts = {
        c.id: found
        for c in spark.correction
        if c.enabled and c.has_numbers and (found := _in_doubt(c, grain)) is not None
    }
    if not doubts:
        return {}
    seldom = Seldom(inputs)
    calm = Calm(
        seldom, frozenset(name for where in doubts.values() for name in _names(where)), grain
    )
    # Only what is in doubt, and what it asks for, is carried out again.
    asked = {n for c in spark.correction if c.id in doubts for n in named_corrections(c)}
    some = tuple(c for c in spark.correction if c.id in doubts or c.id in asked)

    def carried_out(way: int, on: Inputs) -> dict[str, Contribution]:
        def wide(comparison: Comparison, way: int) -> Comparison:
            width = _compared(comparison, grain, averaged=on is calm)
            return seldom.at_its_end(_widened(comparison, way * width), grain, way)

        moved = tuple(_moved(c, way, wide) if c.id in doubts else c for c in some)
        only = spark.model_copy(update={"correction": moved})
        sheet = calibration.model_copy(update={"spark": only})
        return {p.correction: p for p in contributions(sheet, on, file=file)}

    least, most = carried_out(-1, calm), carried_out(1, calm)
    least_wide, most_wide = carried_out(-1, seldom), carried_out(1, seldom)
    return {
        name: Otherwise(least[name], most[name], least_wide[name], most_wide[name], where)
        for name, where in doubts.items()
    }


def _in_doubt(correction: Correction, grain: Grain) -> Comparison | None:
    """The first condition whose reading comes within what is resolved of a threshold."""
    for comparison in _comparisons(correction.when):
        number = grain.number(comparison)
        if number is None:
            continue
        width = _width(grain.of(number), averaged=1)
        limits = np.array(_limits(comparison))
        if width and (np.abs(number[:, None] - limits[None, :]) <= width).any():
            return comparison
        if crossed(comparison, grain, _limits(comparison)):
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


def _compared(comparison: Comparison, grain: Grain, *, averaged: bool) -> float:
    """How far a comparison's number may lie from the log's, in the comparison's unit.

    0 where the log lacks its input, or it has no threshold.
    """
    values = grain.number(comparison) if _limits(comparison) else None
    if values is None:
        return 0.0
    number = grain.of(values)
    return _width(number, averaged=number.averaged_over if averaged else 1)


def _width(number: Number, *, averaged: int) -> float:
    """How far the ECU's number may lie from the log's, averaged over so many rows; 0 for counts.

    Averaging takes the noise down with the root of the rows, of which neighbours may be alike; and
    noise as wide as the step takes away what rounding hides.
    """
    if number.known.size == 0 or number.counted:
        return 0.0
    step, spread = number.logged_step, number.noise
    if averaged <= 1 or spread <= NOISY * step:
        return max(HALF * step, WIDE * spread)
    rounding = HALF * step * float(np.exp(-2.0 * (np.pi * spread / step) ** 2)) if step else 0.0
    return rounding + WIDE * spread / float(np.sqrt(max(1.0, averaged / 2.0)))


def _names(c: Comparison) -> set[str]:
    return {name for name in (c.signal, c.channel, c.minus, c.over) if name}


def _moved(correction: Correction, way: int, wide: Wide) -> Correction:
    """The correction with its conditions moved so that it acts more (way 1) or less (−1)."""
    update: dict[str, object] = {
        "when": tuple(_shifted(condition, way, wide) for condition in correction.when)
    }
    if isinstance(correction.until, Comparison | AnyOf):
        update["until"] = _shifted(correction.until, -way, wide)
    return correction.model_copy(update=update)


def _shifted(condition: Condition, way: int, wide: Wide) -> Condition:
    if isinstance(condition, AnyOf):
        inner = tuple(_shifted(one, way, wide) for one in condition.any)
        return condition.model_copy(update={"any": inner})
    if not isinstance(condition, Comparison) or condition.since is not None:
        return condition
    return wide(condition, way) if _limits(condition) else condition


def _widened(condition: Comparison, by: float) -> Comparison:
    """The comparison with its thresholds moved by so much, in its unit, so that more passes."""
    if not by:
        return condition
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
