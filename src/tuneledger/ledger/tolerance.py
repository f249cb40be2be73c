"""How far two channels may differ, row by row, before the difference means anything.

A fixed number is wrong everywhere: on a steep part of the map half a sample of lag is worth several
degrees, at steady speed nothing but rounding is left.
"""

from collections.abc import Callable

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.logs.samples import neighbours

LEAST_DEG = 0.3
# What is left of a lag after it was taken out, as a share of one row's change.
_LAG_LEFT = 0.5
# Where no lag could be measured, one of this size may be there all the same.
_LAG_UNKNOWN_S = 0.05


def tolerance(*steps: float | None) -> float:
    """The contract's `tolerance_deg`: the larger of 0.3 and the coarser step of the channels."""
    return max((LEAST_DEG, *(step for step in steps if step)))


def slack(
    start: FloatArray,
    delivered: FloatArray,
    *,
    start_own: BoolArray | None = None,
    own: BoolArray | None = None,
    unmeasured_row_s: float | None = None,
) -> FloatArray:
    """Degrees by which rows may be off for lag and slope: half of what a row's time is worth.

    Of the start any change to a neighbour counts. Of delivered only its slope: what jumps to and
    fro from row to row is no lag, and must not excuse itself.
    start_own, own: rows in which each has a sample of its own, None for all; of a channel slower
    than its file it is its samples that are neighbours; between two samples the start may have
    been at either
    unmeasured_row_s: seconds per row where the lag could not be measured, else None; then whole
    rows of a fast log may be left of it
    """
    moves, slopes = by_sample(local_change, start, start_own), by_sample(_slope, delivered, own)
    left: FloatArray = _LAG_LEFT * np.maximum(moves, slopes)
    if start_own is not None:  # the straight line between two samples is the logger's, or ours
        left = np.where(start_own, left, np.maximum(left, moves))
    rows = int(_LAG_UNKNOWN_S / unmeasured_row_s + 1e-9) if unmeasured_row_s else 0
    return np.maximum(left, local_change(start, rows)) if rows else left


def by_sample(
    of: Callable[[FloatArray], FloatArray], values: FloatArray, own: BoolArray | None
) -> FloatArray:
    """What is found of a channel's own samples, for each row the larger of those beside it."""
    if own is None or not own.any():
        return of(values)
    left, right = neighbours(own)
    found = of(values[own])
    return np.maximum(found[left], found[right])


def _slope(values: FloatArray) -> FloatArray:
    """Change per row between the row before and the row after; 0 where either lacks."""
    out = np.zeros(values.shape)
    if values.size > 2:
        out[1:-1] = np.fmax(np.abs(values[2:] - values[:-2]), 0.0) / 2.0
    return out


def local_change(values: FloatArray, reach: int = 1) -> FloatArray:
    """The widest change from each row to one within `reach` rows of it; 0 where neighbours lack."""
    widest = np.zeros(values.shape)
    for distance in range(1, min(reach, values.size - 1) + 1):
        change = np.abs(values[distance:] - values[:-distance])
        np.fmax(widest[distance:], change, out=widest[distance:])
        np.fmax(widest[:-distance], change, out=widest[:-distance])
    return widest
