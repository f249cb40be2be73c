"""Which of the changed numbers a log reads at all: what was not driven is not shown."""

from collections.abc import Sequence
from itertools import product

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Table
from tuneledger.evaluate.lookup import weights_1d
from tuneledger.evaluate.model import Inputs
from tuneledger.evaluate.readings import read
from tuneledger.explain.sheets import LaidSheet
from tuneledger.record import record

_LEAST_SHARE = 1e-3  # of a cell in a look-up, to count as read


@record
class Reached:
    """How much of one edited table the log reads.

    name:    "" for the main map, else the correction's id
    cells:   the changed cells as their axis points, in `units`
    reached: which of them have a share somewhere
    """

    name: str
    called: str
    cells: tuple[tuple[float, ...], ...]
    units: tuple[str | None, ...]
    reached: tuple[bool, ...]

    @property
    def unread(self) -> tuple[tuple[float, ...], ...]:
        return tuple(c for c, there in zip(self.cells, self.reached, strict=True) if not there)


def changed_tables(
    old: LaidSheet, new: LaidSheet, inputs: Inputs, counted: BoolArray
) -> tuple[Reached, ...]:
    """Every table with the same axes in both sheets whose cells differ."""
    spark, edited = old.calibration.spark, new.calibration.spark
    pairs: list[tuple[str, str, Table, Table, BoolArray]] = [
        ("", "the main map", spark.map, edited.map, counted)
    ]
    for correction in edited.correction:
        theirs = spark.find(correction.id)
        if theirs is not None:
            active = new.parts[correction.id].active | old.parts[correction.id].active
            rows = counted & active
            pairs.append((correction.id, correction.called, theirs, correction, rows))
    found = (_reached(*pair, inputs) for pair in pairs)
    return tuple(one for one in found if one is not None)


def _reached(
    name: str, called: str, old: Table, new: Table, rows: BoolArray, inputs: Inputs
) -> Reached | None:
    if not new.axes or old.axes != new.axes:
        return None
    differ = ~((old.grid == new.grid) | (np.isnan(old.grid) & np.isnan(new.grid)))
    columns = [read(axis, inputs) for axis in new.axes]
    there = [column for column in columns if column is not None]
    if not differ.any():
        return None
    touched = (
        _touched(new, [column[rows] for column in there])
        if len(there) == len(columns)
        else np.zeros(differ.shape, dtype=np.bool_)
    )
    where = [tuple(int(i) for i in index) for index in np.argwhere(differ)]
    cells = tuple(tuple(new.axes[k].at[i] for k, i in enumerate(index)) for index in where)
    units = tuple(axis.unit for axis in new.axes)
    return Reached(name, called, cells, units, tuple(bool(touched[index]) for index in where))


def _touched(table: Table, columns: Sequence[FloatArray]) -> BoolArray:
    """Which cells have a share in a look-up of any row."""
    known = np.all([np.isfinite(column) for column in columns], axis=0)
    located = [
        weights_1d(axis.points, column[known])
        for axis, column in zip(table.axes, columns, strict=True)
    ]
    touched = np.zeros(table.grid.shape, dtype=np.bool_)
    for corner in product((0, 1), repeat=len(located)):
        share = np.ones(int(known.sum()))
        index = []
        for (below, above), step, size in zip(located, corner, table.grid.shape, strict=True):
            share = share * (above if step else 1.0 - above)
            index.append(np.minimum(below + step, size - 1))
        used = share > _LEAST_SHARE
        touched[tuple(i[used] for i in index)] = True
    return touched
