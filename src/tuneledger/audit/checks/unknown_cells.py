"""Cells that nobody knows

**What it finds.** A `"?"` in the map or in an enabled correction, and a correction that the
control unit works out itself of which the sheet says neither a `range` nor a number.

**Why it matters.** What is not known is left out of the reach, never taken as zero: the reach of
such a cell is not known, and that of all others is marked as not exact where a correction is
meant.

**Example.** `values = [8.0, 10.0, "?"]`; or `logged_as = "Knock retard"` without `range`.

**What to do.** Ask whoever holds the car for the number; give knock control its `range`.

**When to ignore it.** Where the cell is never run.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called
from tuneledger.audit.sheet import Audited
from tuneledger.wording import count


def check(sheet: Audited) -> Iterator[Said]:
    """The map and every enabled correction."""
    missing = int(np.isnan(sheet.calibration.spark.map.grid).sum())
    if missing:
        yield Said(
            "note",
            ("spark.map",),
            f"{count(missing, 'cell')} of the map {'is' if missing == 1 else 'are'} not known; "
            "the reach there is not known either.",
            "Ask for the numbers before anyone drives there.",
        )
    for path, correction in sheet.enabled:
        if not correction.has_numbers and correction.range is None:
            why = "the control unit works it out, and the sheet gives no range"
        elif correction.has_numbers and np.isnan(correction.grid).any():
            why = f"{count(int(np.isnan(correction.grid).sum()), 'cell')} of it not known"
        else:
            continue
        yield Said(
            "note",
            (path,),
            f"How far {called(correction)} can go is not known: {why}. The reach leaves it out.",
            "Give it a range, or ask for the numbers.",
        )
