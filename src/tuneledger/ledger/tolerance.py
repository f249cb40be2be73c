"""How far two channels may differ, row by row, before the difference means anything.

A fixed number is wrong everywhere: on a steep part of the map half a sample of lag is worth several
degrees, at steady speed nothing but rounding is left.
"""

import numpy as np

from tuneledger.arrays import FloatArray

LEAST_DEG = 0.3
# What is left of a lag after it was taken out, as a share of one row's change.
_LAG_LEFT = 0.5
# Where no lag could be measured, one of this size may be there all the same.
_LAG_UNKNOWN_S = 0.05


def tolerance(*steps: float | None) -> float:
    """The contract's `tolerance_deg`: the larger of 0.3 and the coarser step of the channels."""
    return max((LEAST_DEG, *(step for step in steps if step)))


def slack(
    start: FloatArray, delivered: FloatArray, *, unmeasured_row_s: float | None = None
) -> FloatArray:
    """Degrees by which rows may be off for lag and slope: half of what a row's time is worth.

    Of the start any change to a neighbour counts. Of delivered only its slope: what jumps to and
    fro from row to row is no lag, and must not excuse itself.
    unmeasured_row_s: seconds per row where the lag could not be measured, else None; then whole
    rows of a fast log may be left of it
    """
    left: FloatArray = _LAG_LEFT * np.maximum(local_change(start), _slope(delivered))
    rows = int(_LAG_UNKNOWN_S / unmeasured_row_s + 1e-9) if unmeasured_row_s else 0
    return np.maximum(left, local_change(start, rows)) if rows else left


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
