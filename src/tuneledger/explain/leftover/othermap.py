"""What is left over as a fixed function of the main map's own axes: another map, cell by cell.

The offsets of the map's cells are fitted to what is left over. That alone proves little, since a
single run up the hill visits every cell once and any residual can be spread over them; the offsets
must be few, and cells that were visited more than once must say the same each time.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.evaluate.lookup import interpolate
from tuneledger.evaluate.model import Evidence
from tuneledger.evaluate.readings import read
from tuneledger.explain.account import OTHER_MAP, Account
from tuneledger.explain.cost import residual_cost, settled
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Cell, Point
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.record import record
from tuneledger.wording import count

# Nats for the number of one cell, and of each more beside it that is changed the same way: people
# raise or lower a part of a map, not cells here and there.
PER_CELL, _BESIDE = 3.5, 1.5
# What has to be settled, and the share of it that may be left and said: with a logged scheduled
# advance its map is known, and what acts beyond it is seldom another one.
_LEAST_GAIN = 10.0
_LEFT, _LEFT_BESIDE_SCHEDULED = 0.3, 0.15
# Nats against it there: the map that was asked for is in the log, and is not that other one. As
# much as two more cells; judgement, checked on made cases.
_BESIDE_SCHEDULED = 8.0
# Cells can be fitted to much: never certain, and less where a channel that decides is not sure. A
# ridge holds a cell with hardly a row, and more rows only take time. Judgement.
_MOST_SURE, _DOUBTED = 0.95, 0.7
_RIDGE = 0.02
_MOST_ROWS = 20000


@record(eq=False)
class Offsets:
    """Degrees per cell of the map, the map's shape; what they post per row; seconds per cell."""

    grid: FloatArray
    values: FloatArray
    seconds: FloatArray


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """Another map in place of the first sheet's, if few cell offsets account for what is left."""
    if not laid or account.sheet is None or not account.runs:
        return ()
    offsets = fit_offsets(book, laid[0], account.left)
    if offsets is None:
        return ()
    edges = book.slack
    before = residual_cost(book, account.left, edges)
    after = residual_cost(book, account.left - offsets.values, edges)
    cells = changed_cells(laid[0], offsets, book.tolerance)
    rows = np.isfinite(account.left) & (np.abs(offsets.values) > book.tolerance)
    length = price(offsets, book.tolerance)
    length += 0.0 if book.scheduled is None else _BESIDE_SCHEDULED
    most = before * (_LEFT if book.scheduled is None else _LEFT_BESIDE_SCHEDULED)
    if not rows.any() or after + length > min(most, before - _LEAST_GAIN):
        return ()
    return (
        Extra(
            kind="other map",
            rows=rows,
            certainty=most_sure(book) * settled(book, account.left, offsets.values, edges),
            price=length,
            entry=OTHER_MAP,
            values=np.nan_to_num(offsets.values),
            evidence=Evidence.INFERRED,
            cells=cells,
            points=(
                Point(
                    "for",
                    f"{count(len(cells), 'cell')} of the map, changed, account for what is left",
                ),
            ),
        ),
    )


def most_sure(book: Book) -> float:
    """How sure another map can be: less where an outside air that nobody logged does the same."""
    return _DOUBTED if any(one.decides for one in book.roles.wanting) else _MOST_SURE


def fit_offsets(book: Book, sheet: LaidSheet, left: FloatArray) -> Offsets | None:
    """The smallest cell offsets that reproduce `left` (degrees per row, NaN: not judged)."""
    table = sheet.calibration.spark.map
    columns = [read(axis, book.inputs) for axis in table.axes]
    if not columns or any(column is None for column in columns):
        return None
    known = [column for column in columns if column is not None]
    usable = np.isfinite(left) & np.all([np.isfinite(c) for c in known], axis=0)
    rows = np.flatnonzero(usable)
    if rows.size < 20:
        return None
    if rows.size > _MOST_ROWS:
        rows = rows[np.linspace(0, rows.size - 1, _MOST_ROWS).astype(np.int64)]
    index, weight = corners([axis.points for axis in table.axes], [c[rows] for c in known])
    size = int(np.prod([len(axis.at) for axis in table.axes]))
    flat = _solve(index, weight, left[rows], size, book.tolerance)
    shape = tuple(len(axis.at) for axis in table.axes)
    visits = np.bincount(index.ravel(), weights=weight.ravel(), minlength=size)
    seconds: FloatArray = np.asarray(visits * book.row_s, np.float64)
    grid = flat.reshape(shape)
    values = interpolate([axis.points for axis in table.axes], grid, known)
    return Offsets(grid, values, seconds.reshape(shape))


def changed_cells(sheet: LaidSheet, offsets: Offsets, tolerance: float) -> tuple[Cell, ...]:
    """The axis points whose offset goes beyond tolerance, where the run was there at all."""
    axes = [axis.at for axis in sheet.calibration.spark.map.axes]
    touched = (np.abs(offsets.grid) > tolerance) & (offsets.seconds > 0)
    return tuple(
        Cell(
            at=tuple(float(axis[i]) for axis, i in zip(axes, place, strict=True)),
            difference_deg=float(offsets.grid[tuple(place)]),
            seconds=float(offsets.seconds[tuple(place)]),
        )
        for place in np.argwhere(touched)
    )


def price(offsets: Offsets, tolerance: float) -> float:
    """Nats that it takes to say which cells are changed and by how much."""
    touched = (np.abs(offsets.grid) > tolerance) & (offsets.seconds > 0)
    parts = sum(_parts(touched & (sign * offsets.grid > 0)) for sign in (-1.0, 1.0))
    return PER_CELL * parts + _BESIDE * (int(touched.sum()) - parts)


def _parts(touched: BoolArray) -> int:
    """How many groups of cells there are that lie side by side along an axis."""
    number = np.where(touched, np.arange(1, touched.size + 1).reshape(touched.shape), 0)
    before = np.zeros_like(number)
    while (number != before).any():
        before = number.copy()
        for axis in range(touched.ndim):
            along = np.moveaxis(number, axis, 0)  # a view: what is written goes into `number`
            both = np.moveaxis(touched, axis, 0)
            joined = both[1:] & both[:-1]
            highest = np.where(joined, np.maximum(along[1:], along[:-1]), 0)
            along[1:] = np.maximum(along[1:], highest)
            along[:-1] = np.maximum(along[:-1], highest)
    return len(np.unique(number[touched]))


def corners(
    axes: Sequence[FloatArray], columns: Sequence[FloatArray]
) -> tuple[IntArray, FloatArray]:
    """Flat indices and multilinear weights of the corners around each row; rows × corners."""
    index = np.zeros((columns[0].size, 1), dtype=np.int64)
    weight = np.ones((columns[0].size, 1))
    for axis, column in zip(axes, columns, strict=True):
        if axis.size == 1:
            continue
        clipped = np.clip(column, axis[0], axis[-1])
        low = np.clip(np.searchsorted(axis, clipped, side="right") - 1, 0, axis.size - 2)
        share = ((clipped - axis[low]) / (axis[low + 1] - axis[low]))[:, None]
        low = low[:, None].astype(np.int64)
        index = np.concatenate((index * axis.size + low, index * axis.size + low + 1), axis=1)
        weight = np.concatenate((weight * (1 - share), weight * share), axis=1)
    return index, weight


def _solve(
    index: IntArray, weight: FloatArray, left: FloatArray, size: int, tolerance: float
) -> FloatArray:
    """Ridge regression with a few rounds of down-weighting rows that do not fit."""
    trust = np.ones(left.size)
    flat: FloatArray = np.zeros(size)
    for _ in range(4):
        normal = np.zeros((size, size))
        scaled = weight * trust[:, None]
        for one in range(index.shape[1]):
            for two in range(index.shape[1]):
                np.add.at(normal, (index[:, one], index[:, two]), scaled[:, one] * weight[:, two])
        right = np.bincount(index.ravel(), (scaled * left[:, None]).ravel(), minlength=size)
        penalty = _RIDGE * max(float(normal.trace()) / max(size, 1), 1e-9)
        flat = np.asarray(np.linalg.solve(normal + penalty * np.eye(size), right), np.float64)
        miss = np.abs(left - (flat[index] * weight).sum(axis=1))
        trust = 1.0 / np.maximum(1.0, miss / tolerance)
    return flat
