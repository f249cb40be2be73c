"""Own samples of a channel that a faster log repeats until the next one comes."""

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.record import record

# With ten changes on every second row, chance alone does that once in five hundred channels.
_FEWEST_CHANGES = 10
_ON_RASTER = 0.97
_WIDEST = 1000


@record
class Raster:
    """A sample of its own in one row of `every`, first in row `phase`. 1 and 0: every row."""

    every: int = 1
    phase: int = 0


def held_raster(values: FloatArray) -> Raster:
    """The raster on which the values change. Every row where that cannot be shown.

    Rows of NaN are no change. A few changes off the raster (3 %) are let pass.
    """
    changes = _changes(values)
    if changes.size < _FEWEST_CHANGES:
        return Raster()
    spacing = np.diff(changes)
    widest = int(min(np.quantile(spacing, 0.05), _WIDEST))
    for every in range(widest, 1, -1):
        on = np.bincount(changes % every, minlength=every)
        phase = int(on.argmax())
        if on[phase] >= _ON_RASTER * changes.size:
            return Raster(every, phase)
    return Raster()


def held_every(values: FloatArray) -> int:
    """The channel has a sample of its own in one row of so many; 1 where it may have one in all."""
    return held_raster(values).every


def _changes(values: FloatArray) -> IntArray:
    """Rows whose value differs from that of the row before; rows next to a NaN do not count."""
    moved = np.diff(values)
    return np.flatnonzero(np.isfinite(moved) & (moved != 0)).astype(np.int64) + 1
