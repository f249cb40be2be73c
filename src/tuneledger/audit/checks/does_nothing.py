"""Corrections that are switched on and say nothing

**What it finds.** An addition that is enabled and holds nothing but zeros.

**Why it matters.** It is on every list of what is at work, and has no work. Often its table was
never filled in.

**Example.** `enabled = true`, `values = [0.0, 0.0, 0.0]`.

**What to do.** Fill it in or switch it off.

**When to ignore it.** Where it is kept as a place to try things.
"""

from collections.abc import Iterator

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called
from tuneledger.audit.sheet import Audited


def check(sheet: Audited) -> Iterator[Said]:
    """Enabled additions of all zeros."""
    for path, correction in sheet.enabled:
        if correction.effect == "add" and correction.has_numbers and not correction.grid.any():
            yield Said(
                "note",
                (path,),
                f"{called(correction)} is switched on, but zero everywhere.",
                "Fill it in or switch it off.",
            )
