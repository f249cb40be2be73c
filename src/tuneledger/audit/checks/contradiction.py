"""Conditions that contradict each other

**What it finds.** A correction whose conditions can each be true, but never all at once.

**Why it matters.** It is switched on and never acts. If it is a guard, the engine goes without.

**Example.** `when` throttle position above 60 % and throttle position below 40 %; or below 2 % and
engine running on a correction that needs it above 10 %.

**What to do.** Correct the threshold that is wrong, or put the two into `any` where either is
meant.

**When to ignore it.** Never: what cannot act can as well be switched off.
"""

from collections.abc import Iterator
from itertools import combinations

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, in_words
from tuneledger.audit.sheet import Audited
from tuneledger.wording import listing


def check(sheet: Audited) -> Iterator[Said]:
    """Corrections whose `when` cannot hold although each part of it can."""
    possible = sheet.possible
    for path, correction in sheet.enabled:
        when = correction.when
        if possible.can_act(correction.id) or not all(possible.ever(c)[0] for c in when):
            continue
        pairs = combinations(range(len(when)), 2)
        pair = next((p for p in pairs if not possible.together([when[i] for i in p])), None)
        named = range(len(when)) if pair is None else pair
        words = listing(f"'{in_words(when[i])}'" for i in named)
        yield Said(
            "fault",
            tuple(f"{path}.when[{i}]" for i in named),
            f"{called(correction)} can never act: {words} are never true at the same time.",
            "Correct the threshold that is wrong, or use any where either is meant.",
        )
