"""Table look-up: multilinear between axis points, end values held outside.

`interpolate` is checked against SciPy's RegularGridInterpolator on clipped inputs.
"""

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.calibrations.model import Table

# Rows worked on at a time, so that what is in between stays in the processor's cache.
_CHUNK = 32768

# Up to so many points counting comparisons is faster than a binary search per row.
_COUNTED = 48


def look_up(table: Table, columns: Sequence[FloatArray]) -> FloatArray:
    """A table's value for each row of its axes' readings, one column per axis, in axis order.

    Readings are in the axes' units, the result in the table's. An amount needs no column and gives
    an array of shape (), which broadcasts. NaN where a reading is NaN, and where a cell that
    nobody knows ("?") has a share in the result; a cell without one spoils nothing.
    """
    return interpolate([axis.points for axis in table.axes], table.grid, columns)


def interpolate(
    axes: Sequence[FloatArray], grid: FloatArray, columns: Sequence[FloatArray]
) -> FloatArray:
    """Multilinear interpolation in a grid, with the end values held outside.

    axes:    rising points, one array per dimension of `grid`, none empty
    grid:    numbers; NaN where one is not known
    columns: one array of readings per axis, all of one length; NaN and infinities allowed

    Returns one number per row, shape () without axes. NaN as in `look_up`. ValueError where the
    three do not fit each other.
    """
    shape = tuple(points.size for points in axes)
    if grid.shape != shape or len(columns) != len(axes):
        raise ValueError(f"{len(columns)} columns, axes of {shape}, a grid of {grid.shape}")
    if not axes:
        return grid
    grids = _known_and_unknown(grid)
    out = np.empty(columns[0].size, dtype=np.float64)
    for part in _chunks(out.size):
        out[part] = _values(grids, _located(axes, columns, part))
    return out


def sway(
    table: Table, columns: Sequence[FloatArray], widths: Sequence[float | FloatArray]
) -> FloatArray:
    """How far a table's value moves for each row where one of its readings is off either way.

    columns: as in `look_up`; widths: by how much each reading may be off, in all rows or row by
    row, 0 where it is exact.
    The widest move counts, 0 where none is known.
    """
    axes, grids = [axis.points for axis in table.axes], _known_and_unknown(table.grid)
    out = np.zeros(columns[0].size)
    for part in _chunks(out.size):
        located = _located(axes, columns, part)
        middle = _values(grids, located)
        for i, width in enumerate(widths):
            wide = width[part] if isinstance(width, np.ndarray) else width
            for off in (-wide, wide) if np.any(wide) else ():
                moved = [*located]
                moved[i] = weights_1d(axes[i], columns[i][part] + off)
                np.fmax(out[part], np.abs(_values(grids, moved) - middle), out=out[part])
    return out


def weights_1d(points: FloatArray, values: FloatArray) -> tuple[IntArray, FloatArray]:
    """Where values lie on an axis: the point below, and the share (0 to 1) of the one above.

    Held at the ends: the index is at most the last but one, and with a single point 0, share 0.
    NaN gives some index within the axis and a share of NaN.
    """
    index: IntArray
    if points.size == 1:
        index = np.zeros(values.shape, dtype=np.int64)
        return index, np.where(np.isnan(values), np.nan, 0.0)
    if points.size <= _COUNTED:
        count = np.zeros(values.shape, dtype=np.uint8)
        for point in points[1:-1]:
            count += values >= point
        index = count.astype(np.int64)
    else:
        index = np.searchsorted(points[1:-1], values, side="right").astype(np.int64)
    below = points.take(index)
    with np.errstate(invalid="ignore"):
        share = (values - below) / np.diff(points).take(index)
    return index, np.clip(share, 0.0, 1.0, out=share)


def cell_of(points: FloatArray, values: FloatArray) -> IntArray:
    """The index of the axis point nearest to each value (halfway: the upper); −1 for NaN."""
    middles = (points[1:] + points[:-1]) / 2.0
    known = ~np.isnan(values)
    cells = np.full(values.shape, -1, dtype=np.int64)
    cells[known] = np.searchsorted(middles, values[known], side="right")
    return cells


def _chunks(rows: int) -> Iterator[slice]:
    return (slice(start, start + _CHUNK) for start in range(0, rows, _CHUNK))


def _located(
    axes: Sequence[FloatArray], columns: Sequence[FloatArray], part: slice
) -> list[tuple[IntArray, FloatArray]]:
    return [weights_1d(points, c[part]) for points, c in zip(axes, columns, strict=True)]


def _known_and_unknown(grid: FloatArray) -> tuple[FloatArray, ...]:
    """The grid, and where it has cells that nobody knows, a second one with 1 in those."""
    unknown = np.isnan(grid)
    if not unknown.any():
        return (grid,)
    return np.where(unknown, 0.0, grid), unknown.astype(np.float64)


def _values(
    grids: Sequence[FloatArray], located: Sequence[tuple[IntArray, FloatArray]]
) -> FloatArray:
    """The first grid's values; NaN where the second is touched."""
    values = _multilinear(grids[0], located)
    for unknown in grids[1:]:
        values[_multilinear(unknown, located) > 0.0] = np.nan
    return values


def _multilinear(grid: FloatArray, located: Sequence[tuple[IntArray, FloatArray]]) -> FloatArray:
    """Corner values first, then one axis after the other drawn together, the last axis first."""
    lowest = np.zeros(located[0][0].shape, dtype=np.int64)
    steps: list[int] = []
    for (index, _), size in zip(located, grid.shape, strict=True):
        lowest *= size
        lowest += index
        steps = [step * size for step in steps] + [min(size - 1, 1)]
    flat = grid.ravel()
    offsets = [sum(corner) for corner in product(*((0, step) for step in steps))]
    values: list[FloatArray] = [flat.take(lowest + offset) for offset in offsets]
    for _, share in reversed(located):
        values = [
            low + share * (high - low) for low, high in zip(values[::2], values[1::2], strict=True)
        ]
    return values[0]
