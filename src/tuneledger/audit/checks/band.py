"""Cells that can leave the owner's band

**What it finds.** Cells whose reach leaves the band that the sheet sets in `[audit] band`: more
than `above_map` above the map, more than `below_map` below it, above `highest` or below `lowest`.
Without a band it finds nothing.

**Why it matters.** Every correction may be sensible by itself. What counts at the spark plug is
the sum of those that can act at the same time, and nobody adds up sixty of them by eye.

**Example.** `band = { above_map = 2.0 }`: a cold-air and a cold-engine correction of +2° each can
act together on a cold morning and reach +4°.

**What to do.** Ease the corrections that the finding names, or let a cap hold the sum.

**When to ignore it.** Widen the band where the reach is meant; that is what it is for.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.audit.grid import largest
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import cell, cells_listed
from tuneledger.audit.reach.settle import Extreme
from tuneledger.audit.sheet import Audited
from tuneledger.wording import degrees, listing

LEAST_DEG = 0.005


def check(sheet: Audited) -> Iterator[Said]:
    """What the band does not allow, above and below."""
    band = sheet.calibration.audit.band
    if band is None:
        return
    grid = sheet.calibration.spark.map.grid
    reach = sheet.reach
    most, least = np.full(grid.shape, np.inf), np.full(grid.shape, -np.inf)
    if band.above_map is not None:
        most = np.minimum(most, grid + band.above_map)
    if band.below_map is not None:
        least = np.maximum(least, grid - band.below_map)
    most = most if band.highest is None else np.minimum(most, band.highest)
    least = least if band.lowest is None else np.maximum(least, band.lowest)
    yield from _left(sheet, reach.highest, reach.highest.degrees - most, "above")
    yield from _left(sheet, reach.lowest, least - reach.lowest.degrees, "below")


def _left(sheet: Audited, extreme: Extreme, over: FloatArray, side: str) -> Iterator[Said]:
    over = np.nan_to_num(over, nan=-np.inf)
    out = over > LEAST_DEG
    if not out.any():
        return
    worst = largest(over)
    by = [name for name, cells in extreme.by.items() if cells[worst]]
    at = cell(sheet.calibration, worst)
    reached = degrees(float(extreme.degrees[worst]), signed=False)
    at_most = "" if extreme.exact else "at most "
    far = degrees(float(over[worst]), signed=False)
    through = f" through {listing(by)}" if by else ""
    yield Said(
        "danger" if side == "above" else "fault",
        ("audit.band", "spark"),
        f"{cells_listed(sheet.calibration, out)}: the reach leaves the owner's band. Furthest at "
        f"{at}, where {at_most}{reached} can be delivered{through}, {far} {side} it.",
        "Ease what adds up there, let a cap hold the sum, or widen the band.",
        float(over[worst]),
    )
