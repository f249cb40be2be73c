"""Cells of two tables held against each other where they stand, not by how they are counted.

Two revisions may have other axis points: then the third cell of one stands elsewhere than the third
of the other, and what the other has there is read out of it.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations import paths
from tuneledger.calibrations.cells import UNKNOWN_CELL
from tuneledger.calibrations.model import Calibration, Table
from tuneledger.errors import SheetError
from tuneledger.evaluate.lookup import interpolate, look_up

Cell = tuple[Table, tuple[int, ...]]


def cell_at(place: str, sheet: Calibration) -> Cell | None:
    """The table of which the place is one cell, and which; None where it is none."""
    try:
        where = paths.steps(sheet, place)
        held = where.index("values")
        table = paths.get(sheet, paths.joined(where[:held]))
    except (SheetError, ValueError, IndexError):
        return None
    index = tuple(step for step in where[held + 1 :] if isinstance(step, int))
    if not isinstance(table, Table) or not index or len(index) != len(table.axes):
        return None
    return table, index


def stands_elsewhere(place: str, sheets: Sequence[Calibration]) -> bool:
    """Whether a cell does not stand at the same points in all sheets that have it."""
    cells = [cell for sheet in sheets if (cell := cell_at(place, sheet)) is not None]
    return any(table.axes != cells[0][0].axes for table, _ in cells)


def in_the_other(place: str, new: Calibration, old: Calibration) -> float | str | None:
    """What the old sheet has where a cell of the new one stands, "?" where it leaves that open.

    None where both have it at the same points, or where the two tables do not read the same.
    """
    one, other = cell_at(place, new), cell_at(place, old)
    if one is None or other is None or one[0].axes == other[0].axes:
        return None
    if not comparable(one[0], other[0]):
        return None
    table, index = one
    point = [np.array([axis.at[i]]) for axis, i in zip(table.axes, index, strict=True)]
    value = float(look_up(other[0], point)[0])
    return value if np.isfinite(value) else UNKNOWN_CELL


def comparable(one: Table, other: Table) -> bool:
    """Whether both read the same, at whatever points."""
    bare = [[a.model_copy(update={"at": (0.0,)}) for a in table.axes] for table in (one, other)]
    return bare[0] == bare[1]


def on_points(points: Sequence[FloatArray], table: Table) -> FloatArray:
    """A table's values at every crossing of these points; one without axes is flat."""
    shape = tuple(p.size for p in points)
    if not table.axes:
        return np.broadcast_to(table.grid, shape)
    columns = [mesh.ravel() for mesh in np.meshgrid(*points, indexing="ij")]
    return interpolate([axis.points for axis in table.axes], table.grid, columns).reshape(shape)
