"""What changed without a note

**What it finds.** A part that differs from the revision before and that the new sheet's `notes` do
not name: none of the words of its id or title stands there (for the map: map, cell, row, column,
and the like).

**Why it matters.** A change that nobody wrote down is a change that nobody decided, or one that
nobody will remember. Half of all searches for a lost degree end at one.

**Example.** Notes: "Two cells at 200 kPa raised." But the charge-air retard was eased as well.

**What to do.** Ask who made it and why; write it into `notes`, or take it back.

**When to ignore it.** Words can be chosen otherwise: it compares words, it does not understand
them.
"""

from collections.abc import Iterator

from tuneledger.audit.model import Said
from tuneledger.audit.revisions import changes, noted
from tuneledger.audit.sheet import Audited


def check(sheet: Audited) -> Iterator[Said]:
    """Changes that the notes of the newer sheet do not speak of."""
    if sheet.earlier is None:
        return
    before, notes = sheet.earlier, sheet.calibration.notes
    for change in changes(before.calibration, sheet.calibration):
        if not noted(change, notes):
            say = "do not mention it" if notes else "are empty"
            yield Said(
                "doubt",
                (change.path, "notes"),
                f"{change.subject} {change.what} since revision {before.called}; the notes {say}.",
                "Ask who changed it and why; write it into the notes, or take it back.",
            )
