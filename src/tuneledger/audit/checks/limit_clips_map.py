"""A limit that clips the map itself

**What it finds.** Cells of the map above the highest or below the lowest that `limits` let
through.

**Why it matters.** What stands in the cell is never delivered, whatever the corrections do.
Whoever edits the cell sees no effect, and finds it on the day when the limit is widened.

**Example.** `limits = { highest = 36.0 }` and a cell of 38.0.

**What to do.** Ask first why the limit is there; bring the map within it.

**When to ignore it.** Where the map is kept for another engine or fuel, and the limit is meant.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.grid import indexes
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import cell_path, cells_listed
from tuneledger.audit.sheet import Audited
from tuneledger.wording import degrees


def check(sheet: Audited) -> Iterator[Said]:
    """Cells outside the limits, above and below."""
    limits, grid = sheet.calibration.spark.limits, sheet.calibration.spark.map.grid
    if limits is None:
        return
    sides = [("above the highest", limits.highest, 1.0), ("below the lowest", limits.lowest, -1.0)]
    for name, end, sign in sides:
        if end is None:
            continue
        over = np.nan_to_num((grid - end) * sign, nan=0.0)
        if (over > 0).any():
            paths = [cell_path(index) for index in indexes(over > 0)]
            yield Said(
                "fault",
                (*paths, "spark.limits"),
                f"The map is up to {degrees(float(over.max()), signed=False)} {name} that the "
                f"limits allow ({degrees(end, signed=False)}): "
                f"{cells_listed(sheet.calibration, over > 0)}.",
                "Ask first why the limit is there; bring the map within it.",
                float(over.max()),
            )
