"""What a channel's own samples give away: gaps, a frozen value, and what an export did to it.

Everything here is a doubt to be told, never a reason to change a number.
"""

from typing import Literal

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray

Span = tuple[float, float]
Smear = Literal["interpolated", "averaged"]

_GAP_STEPS = 5.0
_FROZEN_RUNS = 20.0
_FROZEN_S = 2.0
_FEWEST_RUNS = 20
_BETWEEN_MOST = 0.2
_FEWEST_PAIRS = 25


def time_gaps(times: FloatArray) -> tuple[Span, ...]:
    """(start, end) in seconds wherever samples are missing: a step far beyond the usual one.

    Far is five usual (median) steps, and three times what only one step in twenty exceeds, so that
    an unsteady raster is not all gaps.
    """
    steps = np.diff(times)
    if steps.size < 3:
        return ()
    usual = float(np.median(steps))
    limit = max(_GAP_STEPS * usual, 3.0 * float(np.quantile(steps, 0.95)))
    at = np.flatnonzero(steps > limit)
    return tuple((float(times[i]), float(times[i + 1])) for i in at)


def frozen_spans(times: FloatArray, values: FloatArray) -> tuple[Span, ...]:
    """Where a channel that keeps moving stands still for long, at a value where it never rests.

    A closed throttle or a switch comes back to the value where it stands; a frozen reading stops
    in the middle of its range, once.
    """
    first, last = _runs(values)
    if first.size < _FEWEST_RUNS:
        return ()
    length = last - first + 1
    usual = float(np.quantile(length, 0.9))
    long = (length > _FROZEN_RUNS * usual) & (times[last] - times[first] > _FROZEN_S)
    low, high = np.quantile(values, (0.01, 0.99))
    out = []
    for i in np.flatnonzero(long):
        value = values[first[i]]
        elsewhere = np.count_nonzero(values == value) - length[i]
        if low < value < high and elsewhere < 0.5 * length[i]:
            out.append((float(times[first[i]]), float(times[last[i]])))
    return tuple(out)


def smeared_switch(values: FloatArray) -> Smear | None:
    """A channel of two levels that an export has put values between, as at 0.37 of a switch.

    "averaged" where all of them are whole parts of one small number of samples, else
    "interpolated". None for a channel without two levels, or with none between.
    """
    if values.size < _FEWEST_RUNS:
        return None
    level, counts = np.unique(values, return_counts=True)
    low, high = level[0], level[-1]
    between = (values > low) & (values < high)
    share = float(between.mean())
    if level.size < 3 or not 0.0 < share <= _BETWEEN_MOST:
        return None
    if min(counts[0], counts[-1]) < 0.02 * values.size or not _only_on_edges(values, low, high):
        return None
    return "averaged" if _whole_parts((level[1:-1] - low) / (high - low)) else "interpolated"


def thinned_by_extremes(values: FloatArray) -> bool:
    """Rows come in pairs of a lowest and a highest value: the export kept only the extremes."""
    if values.size < 2 * _FEWEST_PAIRS:
        return False
    rows = values[: values.size // 2 * 2].reshape(-1, 2)
    within = rows[:, 1] - rows[:, 0]
    across = rows[1:, 0] - rows[:-1, 1]
    for sign in (1.0, -1.0):
        steady = (sign * within >= 0).mean() > 0.99 and (sign * within > 0).mean() > 0.6
        if steady and (sign * across < 0).mean() > 0.6:
            return True
    return False


def _runs(values: FloatArray) -> tuple[IntArray, IntArray]:
    """First and last row of every stretch of equal values."""
    if values.size == 0:
        empty = np.empty(0, dtype=np.int64)
        return empty, empty
    edges = (np.flatnonzero(np.diff(values) != 0) + 1).astype(np.int64)
    return np.r_[0, edges], np.r_[edges - 1, values.size - 1]


def _only_on_edges(values: FloatArray, low: float, high: float) -> bool:
    """Values in between stand in short passages, most of them from one level to the other."""
    between: BoolArray = (values > low) & (values < high)
    edge = np.flatnonzero(np.diff(np.r_[0, between.astype(np.int8), 0]))
    starts, ends = edge[::2], edge[1::2]
    if np.median(ends - starts) > 3:
        return False
    inner = (starts > 0) & (ends < values.size)
    before, after = values[starts[inner] - 1], values[ends[inner]]
    return bool(inner.any()) and float((before != after).mean()) > 0.6


def _whole_parts(shares: FloatArray) -> bool:
    """Whether all shares are whole parts of one number from 2 to 10; needs three that differ."""
    if shares.size < 3:
        return False
    return any(
        bool((np.abs(shares * parts - np.round(shares * parts)) < 0.02).all())
        for parts in range(4, 11)
        if shares.size < parts
    )
