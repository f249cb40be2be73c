"""An idle governor that goes further than the map around it

**What it finds.** An idle governor that can lift a cell above the highest value of the map where
it can act and next to it by more than 3°, can take one below −10°, or has more than 20° in one
direction (common practice, no source).

**Why it matters.** Just off idle the governor lets go and the map takes over. If the governor can
stand far outside what the map has there, the torque steps at that moment; and a throttle that does
not quite close leaves all that authority at work on the road.

**Example.** The map has 12° at idle and 16° in the cells beside it; the governor may add 15°.

**What to do.** Bring its ends within what the cells around idle have, or end its work earlier.

**When to ignore it.** On engines that are started or warmed with a wide governor on purpose.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.audit.idle import governors
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, region
from tuneledger.audit.sheet import Audited
from tuneledger.wording import degrees

MORE_DEG = 3.0
LATEST_DEG = -10.0
AUTHORITY_DEG = 20.0  # the same as makes idle work ordinary in a log


def check(sheet: Audited) -> Iterator[Said]:
    """Governors whose ends leave the map around them."""
    grid = sheet.calibration.spark.map.grid
    for governor in governors(sheet):
        moves = sheet.moves(governor.correction)
        acts = (moves.low != 0.0) | (moves.high != 0.0)
        if not acts.any() or np.isnan(grid).all():
            continue
        around = float(np.nanmax(np.where(_widened(acts), grid, np.nan)))
        above = np.where(acts, grid + moves.high - around, -np.inf)
        below = np.where(acts, grid + moves.low, np.inf)
        over = float(np.nanmax(above))
        if over > MORE_DEG:
            where = region(sheet.calibration, above > MORE_DEG)
            far = degrees(over, signed=False)
            told = f"can lift the advance {far} above all that the map has around it, {where}"
        elif float(np.nanmin(below)) < LATEST_DEG:
            where = region(sheet.calibration, below < LATEST_DEG)
            told = f"can take the advance down to {degrees(float(np.nanmin(below)))} {where}"
        elif moves.size > AUTHORITY_DEG:
            far = degrees(moves.size, signed=False)
            told = f"can move the advance by {far}, more than a governor needs"
        else:
            continue
        yield Said(
            "doubt",
            (governor.path, "spark.map.values" if grid.ndim else "spark.map.amount"),
            f"{called(governor.correction)} {told}.",
            "Bring its ends within what the map has around idle.",
            moves.size,
        )


def _widened(cells: BoolArray) -> BoolArray:
    """The cells and those next to them along every axis."""
    out = cells.copy()
    for axis in range(cells.ndim):
        ahead, behind = np.roll(cells, 1, axis), np.roll(cells, -1, axis)
        for shifted, edge in ((ahead, 0), (behind, -1)):
            index = [slice(None)] * cells.ndim
            index[axis] = slice(edge, None) if edge else slice(0, 1)
            shifted[tuple(index)] = False
            out |= shifted
    return out
