"""Which points of a sheet's table a run has shown, and the table with all others left open."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.cells import UNKNOWN_CELL
from tuneledger.calibrations.model import Correction
from tuneledger.evaluate.model import Inputs
from tuneledger.evaluate.readings import read
from tuneledger.explain.leftover.othermap import corners

# A point is shown by at least this share of a row.
_LEAST_SUPPORT = 0.3


def shown_points(
    correction: Correction, inputs: Sequence[Inputs], acts: Sequence[BoolArray]
) -> BoolArray | None:
    """Which points of the table had a part in what was posted; None where that cannot be told."""
    axes = [axis.points for axis in correction.axes]
    size = int(np.prod([a.size for a in axes]))
    support = np.zeros(size)
    for one, rows in zip(inputs, acts, strict=False):
        columns = [read(axis, one) for axis in correction.axes]
        known = [c for c in columns if c is not None]
        if len(known) < len(columns):
            return None
        # Where it posts nothing its table may still have been read: only conditions tell, and
        # those without any are read in every row.
        here = np.all([np.isfinite(c) for c in known], axis=0)
        here &= rows if correction.when else True
        index, weight = corners(axes, [c[here] for c in known])
        support += np.bincount(index.ravel(), weight.ravel(), size)
    shown: BoolArray = support.reshape([a.size for a in axes]) >= _LEAST_SUPPORT
    return shown


def blanked(grid: FloatArray, shown: BoolArray) -> Any:
    """A table's values as a sheet nests them, "?" where they are not shown or not known."""
    if grid.ndim == 1:
        return tuple(
            float(x) if ok and np.isfinite(x) else UNKNOWN_CELL
            for x, ok in zip(grid, shown, strict=True)
        )
    return tuple(blanked(row, ok) for row, ok in zip(grid, shown, strict=True))
