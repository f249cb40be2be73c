"""Two sheets that bear one revision name

**What it finds.** A sheet with the revision name of an older one among those given, and whether
the two hold the same on the spark side and of the engine (title, notes and the time of saving have
no say).

**Why it matters.** "Load revision C" must mean one thing. Where two files say that they are C,
nobody can tell from the name which of them is in the car, and the next order may start from the
wrong one.

**Example.** Somebody edits revision C, saves it under another file name, and leaves the revision's
name as it was.

**What to do.** Give one of them a name of its own. Of two that hold the same, put one away.

**When to ignore it.** That two hold the same is a note, and asks for nothing.
"""

from collections.abc import Iterator

from tuneledger.audit.model import Said
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Calibration


def check(sheet: Audited) -> Iterator[Said]:
    """One finding for each older sheet of its name."""
    older = sheet.earlier
    while older is not None:
        if older.calibration.revision == sheet.calibration.revision:
            yield _told(sheet, older)
        older = older.earlier


def _told(sheet: Audited, older: Audited) -> Said:
    name, places = sheet.calibration.revision, ("revision",)
    if _same(sheet.calibration, older.calibration):
        return Said(
            "note",
            places,
            f"{older.file} and {sheet.file} are both called revision {name}, and hold the same.",
            "Keep one of them.",
        )
    return Said(
        "doubt",
        places,
        f"{older.file} and {sheet.file} are both called revision {name}, but do not hold the same: "
        "from the name nobody can say which of them is in a car.",
        "Give one of them a name of its own before either is loaded.",
    )


def _same(one: Calibration, other: Calibration) -> bool:
    """Whether the control unit would be given the same; a default may be written out or not."""
    return one.spark == other.spark and one.engine == other.engine
