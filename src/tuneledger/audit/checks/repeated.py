"""A condition that repeats another

**What it finds.** A condition that is true wherever another one of the same correction is, so that
it adds nothing to it.

**Why it matters.** Nothing goes wrong, but who changes the one that does not count wonders why
nothing happens.

**Example.** `when` engine speed above 3500 rpm and engine speed above 3000 rpm.

**What to do.** Take the weaker one out.

**When to ignore it.** Where both are kept because they are edited in different places.
"""

from collections.abc import Iterator
from itertools import permutations

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, in_words
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Comparison, Condition


def check(sheet: Audited) -> Iterator[Said]:
    """Comparisons of one quantity of which one holds whenever the other does."""
    for path, correction in sheet.enabled:
        told: set[int] = set()
        for one, other in permutations(range(len(correction.when)), 2):
            first, second = correction.when[one], correction.when[other]
            if {one, other} & told or not _alike(first, second):
                continue
            if not all(sheet.possible.ever(c) == (True, True) for c in (first, second)):
                continue
            if sheet.possible.together([first, second]) and sheet.possible.implies(first, second):
                told.add(other)
                yield Said(
                    "note",
                    (f"{path}.when[{other}]", f"{path}.when[{one}]"),
                    f"{called(correction)}: '{in_words(second)}' says nothing beyond "
                    f"'{in_words(first)}'.",
                    "Take the weaker condition out.",
                )


def _alike(one: Condition, other: Condition) -> bool:
    """Whether two comparisons read the same quantity, in whatever unit."""
    if not (isinstance(one, Comparison) and isinstance(other, Comparison)):
        return one == other
    if one.since or other.since:
        return one == other
    names = [(c.signal, (c.channel or "").casefold(), c.minus, c.over) for c in (one, other)]
    return names[0] == names[1]
