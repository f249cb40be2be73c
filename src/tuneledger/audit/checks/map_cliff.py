"""A cliff between two cells

**What it finds.** Two neighbouring cells of the map 10° or more apart whose points lie within a
tenth of their axis, or 20° or more apart anywhere (common practice, no source).

**Why it matters.** Across a cliff the torque steps, and the smallest error of a sensor decides on
which side the engine stands. Interpolation makes it a slope, but a steep one.

**Example.** At 3000 rpm 14°, at 3250 rpm 28°, on an axis from 800 to 7000 rpm.

**What to do.** Spread the step over more cells, or find out which of the two is meant.

**When to ignore it.** Where a switch of cam or fuel stands behind it; also around cranking, where
the map often steps.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.grid import Index, indexes, largest
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import cell, cell_path, reading_name
from tuneledger.audit.sheet import Audited
from tuneledger.wording import count, degrees

STEEP_DEG, ANYWHERE_DEG = 10.0, 20.0
NEAR = 0.1


def check(sheet: Audited) -> Iterator[Said]:
    """The steepest step along each axis, with how many there are."""
    table = sheet.calibration.spark.map
    for number, axis in enumerate(table.axes):
        if len(axis.at) < 2:
            continue
        steps = np.abs(np.diff(table.grid, axis=number))
        gaps = np.diff(axis.points) / (axis.points[-1] - axis.points[0])
        shape = [1] * table.grid.ndim
        shape[number] = gaps.size
        near = (gaps <= NEAR + 1e-9).reshape(shape)
        steps = np.nan_to_num(steps)
        cliffs = (steps >= ANYWHERE_DEG) | (near & (steps >= STEEP_DEG))
        if not cliffs.any():
            continue
        first = largest(np.where(cliffs, steps, 0.0))
        second = _next(first, number)
        ends = [end for index in indexes(cliffs) for end in (index, _next(index, number))]
        paths = list(dict.fromkeys(cell_path(end) for end in (first, second, *ends)))
        more = int(cliffs.sum()) - 1
        rest = f", and {count(more, 'more such step')}" if more else ""
        values = [degrees(float(table.grid[at]), signed=False) for at in (first, second)]
        yield Said(
            "doubt",
            tuple(paths),
            f"The map steps along {reading_name(axis)} from {values[0]} at "
            f"{cell(sheet.calibration, first)} to {values[1]} at {cell(sheet.calibration, second)}"
            f"{rest}.",
            "Spread the step over more cells, or find out which side is meant.",
            float(steps[cliffs].max()),
        )


def _next(index: Index, axis: int) -> Index:
    """The cell after this one along an axis."""
    return tuple(i + (number == axis) for number, i in enumerate(index))
