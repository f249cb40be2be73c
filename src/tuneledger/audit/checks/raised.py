"""A revision that can reach more advance than the one before

**What it finds.** Cells in which the highest advance that can be delivered rose by 0.25° or more
from the revision before, the map and all corrections taken together; where the map has other points
than before, at those of the new one.

**Why it matters.** Whoever loads a revision for one change loads all of them. What was raised
where the last drive did not go is found on the next one.

**Example.** Revision D eases a retard, and two cells at 240 kPa are 2° higher as well.

**What to do.** Read every cell that the finding names before loading; raise in small steps, with
knock and exhaust temperature watched, by someone qualified.

**When to ignore it.** Accept it in the new sheet where the raise is meant and has been tried.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.grid import largest
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import cell, region
from tuneledger.audit.sheet import Audited
from tuneledger.wording import degrees

LEAST_DEG = 0.25


def check(sheet: Audited) -> Iterator[Said]:
    """Cells that can now be further advanced, in one finding."""
    before, reach = sheet.earlier, sheet.reach_before
    if before is None or reach is None:
        return
    more = np.nan_to_num(sheet.reach.highest.degrees - reach.highest.degrees)
    rose = more >= LEAST_DEG
    if not rose.any():
        return
    worst = largest(more)
    was, now = (float(r.highest.degrees[worst]) for r in (reach, sheet.reach))
    before_it, far = before.called, degrees(float(more[worst]), signed=False)
    yield Said(
        "doubt",
        ("spark",),
        f"Revision {sheet.called} can deliver up to {far} more than {before_it} "
        f"{region(sheet.calibration, rose)}; most at {cell(sheet.calibration, worst)}: "
        f"{degrees(was, signed=False)} became {degrees(now, signed=False)}.",
        "Read these cells before loading it, and raise in small steps.",
        float(more[worst]),
    )
