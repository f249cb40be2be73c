"""What a channel's own samples give away: gaps, a frozen value, and what an export did to it.

Everything here is a doubt to be told, never a reason to change a number.
"""

from typing import Literal

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray

Span = tuple[float, float]
Smear = Literal["interpolated", "averaged"]

_GAP_STEPS = 5.0
_LIVELY = 2.0  # rows for which a channel that changes from row to row holds a value
_FROZEN_RUNS = 30.0
_FROZEN_S = 2.0
_END_OF_RANGE = 0.1
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
    """Where a channel that changes from row to row stands still for long, amid its range.

    A slow channel holds its value anyway, and a closed throttle, a car at rest or a switch stands
    at an end of its range or comes back to where it stood; a frozen reading stops on the way,
    once. A rest at the beginning is a car that has not left yet.
    """
    first, last = _runs(values)
    if first.size < _FEWEST_RUNS:
        return ()
    length = last - first + 1
    if np.quantile(length, 0.9) > _LIVELY:
        return ()
    long = (length > _FROZEN_RUNS) & (times[last] - times[first] > _FROZEN_S) & (first > 0)
    lowest, highest = float(values.min()), float(values.max())
    margin = _END_OF_RANGE * (highest - lowest)
    out = []
    for i in np.flatnonzero(long):
        value = values[first[i]]
        elsewhere = np.count_nonzero(values == value) - length[i]
        if lowest + margin < value < highest - margin and elsewhere < 0.5 * length[i]:
            out.append((float(times[first[i]]), float(times[last[i]])))
    return tuple(out)


def smeared_switch(values: FloatArray) -> Smear | None:
    """A switch (0 and 1) that an export has put values between, such as 0.37.

    "averaged" where all of them are whole parts of one small number of samples, else
    "interpolated". None for any other channel, and for a switch with nothing between.
    """
    if values.size < _FEWEST_RUNS:
        return None
    level, counts = np.unique(values, return_counts=True)
    if level.size < 3 or level[0] != 0.0 or level[-1] != 1.0:
        return None
    if float(((values > 0.0) & (values < 1.0)).mean()) > _BETWEEN_MOST:
        return None
    if min(counts[0], counts[-1]) < 0.02 * values.size or not _only_on_edges(values):
        return None
    return "averaged" if _whole_parts(level[1:-1]) else "interpolated"


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


def _only_on_edges(values: FloatArray) -> bool:
    """Values in between stand in short passages, most of them from one state to the other."""
    between: BoolArray = (values > 0.0) & (values < 1.0)
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
