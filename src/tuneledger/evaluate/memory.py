"""What readings and contributions remember of the samples before: turns, past values, ramps."""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.truth import HALF_A_MICROSECOND, Truth, last_row


def seconds_since(truth: Truth, times: FloatArray) -> FloatArray:
    """Seconds since a condition last turned true, to the microsecond.

    Infinite before it ever has; being true at the first sample is no turn. NaN where it may have
    turned true unseen (it is not known there, or was not known at the sample before).
    """
    may_turn, turns = truth.possible.copy(), truth.certain.copy()
    may_turn[:1] = False
    may_turn[1:] &= ~truth.certain[:-1]
    turns[1:] &= ~truth.possible[:-1]
    last = last_row(may_turn)
    elapsed = np.round(times - times[last], 6)
    elapsed[~turns[last]] = np.nan
    elapsed[last < 0] = np.inf
    return elapsed


def change_per_second(values: FloatArray, times: FloatArray, seconds: float) -> FloatArray:
    """(value now − value that many seconds ago) / seconds, a straight line between samples.

    NaN in the first that many seconds, and where one of the samples that it needs is NaN.
    """
    change: FloatArray = (values - _ago(values, times, seconds)) / seconds
    return change


def _ago(values: FloatArray, times: FloatArray, seconds: float) -> FloatArray:
    then = times - seconds
    found = np.searchsorted(times, then + HALF_A_MICROSECOND, side="right") - 1
    below = np.clip(found, 0, None)
    above = np.minimum(below + 1, times.size - 1)
    gap = times[above] - times[below]
    passed = then - times[below]
    on_sample = (passed < HALF_A_MICROSECOND) | (gap <= 0.0)
    share = np.divide(passed, gap, out=np.zeros_like(gap), where=~on_sample)
    rise = np.where(on_sample, 0.0, values[above] - values[below])
    out: FloatArray = values[below] + share * rise
    out[found < 0] = np.nan
    return out


def rate_limited(target: FloatArray, times: FloatArray, down: float, up: float) -> FloatArray:
    """A value that follows its target, but falls and rises by no more than so much per second.

    It starts at the first target. Targets are numbers or infinite, not NaN.

    A limiter needs its own result of the sample before, so there is no closed form for a column.
    Where the target moves slowly enough nothing has to be done; only the stretches in which the
    limiter lags behind are worked through row by row.
    """
    spans = np.diff(times)
    with np.errstate(invalid="ignore"):
        steps = np.diff(target)
    too_fast = np.flatnonzero((steps < -down * spans) | (steps > up * spans)) + 1
    if too_fast.size == 0:
        return target
    out = target.tolist()
    falls, rises = (-down * spans).tolist(), (up * spans).tolist()
    caught_up = 0
    for row in too_fast.tolist():
        if row > caught_up:
            caught_up = _follow(out, falls, rises, row)
    limited: FloatArray = np.asarray(out, dtype=np.float64)
    return limited


def _follow(values: list[float], falls: list[float], rises: list[float], row: int) -> int:
    """Limit `values` in place from a row on; the row at which the target was caught up."""
    value = values[row - 1]
    for at in range(row, len(values)):
        target = values[at]
        lowest, highest = value + falls[at - 1], value + rises[at - 1]
        value = lowest if target < lowest else highest if target > highest else target
        values[at] = value
        if value == target:
            return at
    return len(values)
