"""Rules that write a correction of the sheet anew, under that correction's name.

A log may show a correction at work with other numbers than the sheet's. The account posts that as a
rule of its own; an edit of the correction changes, and takes away, what the rule posts.
"""

from collections.abc import Sequence
from dataclasses import replace

from tuneledger.evaluate.model import Evidence
from tuneledger.explain.model import Cause
from tuneledger.ledger.model import Entry, Ledger


def standing_for(causes: Sequence[Cause]) -> dict[str, str]:
    """The entry of each rule that writes a correction anew → that correction's id."""
    return {
        cause.entry: cause.correction
        for cause in causes
        if cause.kind == "hidden rule" and cause.entry and cause.correction
    }


def under_their_names(ledger: Ledger, causes: Sequence[Cause]) -> Ledger:
    """The ledger with each rule that stands for a correction named after it; those that stand for
    one correction are one entry."""
    names = standing_for(causes)
    entries: dict[str, Entry] = {}
    for entry in ledger.entries:
        name = names.get(entry.correction, entry.correction)
        before = entries.get(name)
        if before is None:
            entries[name] = replace(entry, correction=name)
        else:
            weaker = max(before.evidence, entry.evidence, key=list(Evidence).index)
            values = before.values + entry.values
            entries[name] = replace(before, values=values, evidence=weaker)
    return replace(ledger, entries=tuple(entries.values()))
