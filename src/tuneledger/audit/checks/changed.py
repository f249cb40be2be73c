"""What changed since the revision before

**What it finds.** Every part that is not what it was in the revision before: cells of the map,
corrections that are new, gone, switched on or off, or have other numbers or conditions; and where
it can be felt, which is where the reach of a cell became another.

**Why it matters.** "Load revision D" means all of its differences, those that the notes leave out
and those in cells that the last drive did not visit.

**Example.** "Launch retard (launch) is switched on."

**What to do.** Read the list before loading; a change order holds it step by step.

**When to ignore it.** It is a note, and asks for nothing.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import region
from tuneledger.audit.reach.reach import Reach
from tuneledger.audit.revisions import changes
from tuneledger.audit.sheet import Audited
from tuneledger.wording import degree_span

LEAST_DEG = 0.05


def check(sheet: Audited) -> Iterator[Said]:
    """One line for each part, and one for what all of them come to."""
    before = sheet.earlier
    if before is None:
        return
    since = f"since revision {before.called}"
    found = list(changes(before.calibration, sheet.calibration))
    for change in found:
        yield Said(
            "note",
            (change.path,),
            f"{change.subject} {change.what} {since}.",
            "Read it before loading this revision.",
        )
    if found and sheet.reach_before is not None:
        yield _felt(sheet, sheet.reach_before, since)


def _felt(sheet: Audited, before: Reach, since: str) -> Said:
    by = [
        np.nan_to_num(now.degrees - was.degrees)
        for now, was in (
            (sheet.reach.lowest, before.lowest),
            (sheet.reach.highest, before.highest),
        )
    ]
    parts = []
    for name, change in zip(("lowest", "highest"), by, strict=True):
        moved = np.abs(change) > LEAST_DEG
        if moved.any():
            span = degree_span(float(change[moved].min()), float(change[moved].max()))
            parts.append(f"the {name} that can be reached moved by {span} "
                         f"{region(sheet.calibration, moved)}")  # fmt: skip
    told = "; ".join(parts) or "no cell can be reached further or less far than before"
    return Said(
        "note",
        ("spark",),
        f"Where it can be felt {since}: {told}.",
        "Look at these cells on the next log.",
    )
