"""A condition that always holds

**What it finds.** A condition that is true wherever its signal can be.

**Why it matters.** It says nothing, but whoever reads the sheet takes it for a guard rail.

**Example.** `{ signal = "throttle position", unit = "%", between = [0, 100] }`.

**What to do.** Take it out, or give it the threshold that was meant.

**When to ignore it.** Where the control unit wants a condition to be filled in.
"""

from collections.abc import Iterator

from tuneledger.audit.conditions import every_condition
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, in_words
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Comparison


def check(sheet: Audited) -> Iterator[Said]:
    """Comparisons that nothing makes false."""
    for correction, path, condition in every_condition(sheet):
        if isinstance(condition, Comparison) and sheet.possible.ever(condition) == (True, False):
            yield Said(
                "note",
                (path,),
                f"{called(correction)}: '{in_words(condition)}' always holds, it says nothing.",
                "Take it out, or give it the threshold that was meant.",
            )
