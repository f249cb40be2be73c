"""A cell out of line with its neighbours

**What it finds.** A cell of the map that lies off the straight line between its neighbours, or
beyond its last two at an edge, along every axis, by more than 2° and by more than six times what
cells of this map usually do (six times the median of such distances: a robust measure, see P. J.
Rousseeuw and C. Croux, *Journal of the American Statistical Association* 88, 1993).

**Why it matters.** Good maps are smooth, since the engine is. One cell that stands out is most
often a slip of the finger, and the engine passes through it on its way.

**Example.** `[24.0, 25.0, 52.0, 27.0]`: meant was 26.0.

**What to do.** Compare the cell with an earlier revision and with its neighbours.

**When to ignore it.** Cells at idle, and around a change of cam or runner, may be out of line on
purpose.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.audit.grid import indexes
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import cell, cell_path
from tuneledger.audit.sheet import Audited
from tuneledger.wording import degrees

LEAST_DEG = 2.0
TIMES = 6.0


def check(sheet: Audited) -> Iterator[Said]:
    """Single cells that no neighbour bears out."""
    table = sheet.calibration.spark.map
    grid = table.grid
    off = [_off(grid, axis.points, number) for number, axis in enumerate(table.axes)]
    if not off:
        return
    stacked = np.stack(off)
    alike = (np.sign(stacked) == np.sign(stacked[0])).all(axis=0)
    away = np.where(alike & np.isfinite(stacked).all(axis=0), np.abs(stacked).min(axis=0), 0.0)
    known = np.sort(np.abs(stacked[np.isfinite(stacked)]))
    usual = float(known[known.size // 2]) if known.size else 0.0
    for where in indexes(away > max(LEAST_DEG, TIMES * usual)):
        if away[where] < _largest_beside(away, where):
            continue  # the shadow that a cell out of line throws on those beside it
        yield Said(
            "doubt",
            (cell_path(where),),
            f"The map's cell at {cell(sheet.calibration, where)} holds "
            f"{degrees(float(grid[where]), signed=False)}, "
            f"{degrees(float(away[where]), signed=False)} "
            f"{'above' if stacked[0][where] > 0 else 'below'} what its neighbours lead to.",
            "Compare it with an earlier revision; most such cells are slips of the finger.",
            float(away[where]),
        )


def _off(grid: FloatArray, points: FloatArray, axis: int) -> FloatArray:
    """Each cell less what its neighbours along one axis lead to; NaN where they lead nowhere."""
    lines = np.moveaxis(grid, axis, 0)
    out = np.full(lines.shape, np.nan)
    count = points.size
    for i in range(count):
        pair = (i - 1, i + 1) if 0 < i < count - 1 else (1, 2) if i == 0 else (count - 2, count - 3)
        if count < 3:
            break
        a, b = pair
        share = (points[i] - points[a]) / (points[b] - points[a])
        out[i] = lines[i] - (lines[a] + share * (lines[b] - lines[a]))
    return np.moveaxis(out, 0, axis)


def _largest_beside(away: FloatArray, where: tuple[int, ...]) -> float:
    around = tuple(slice(max(i - 1, 0), i + 2) for i in where)
    return float(away[around].max())
