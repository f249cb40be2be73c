"""How far delivered rises above scheduled under load and what puts it there; what is in no file."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import SURE, Cause
from tuneledger.explain.unsettled import lowered
from tuneledger.record import record

# What puts delivered above scheduled accounts for this much of it at the least: judgement.
_MOST_OF_IT = 0.5


@record(eq=False)
class Highest:
    """Where delivered stands highest above scheduled under load.

    row: the highest; rows: those that are as high, within tolerance; degrees: how high
    """

    finding: Finding
    row: int
    rows: BoolArray
    degrees: float


def highest(findings: Sequence[Finding]) -> Highest | None:
    """The highest rise of all logs; None where none is above scheduled under load."""
    found: Highest | None = None
    for finding in findings:
        book = finding.book
        above = np.where(book.judged & book.regimes.load, book.delivered - book.start, -np.inf)
        row = int(np.argmax(above - book.slack))
        worst = float(above[row])
        if worst > (found.degrees if found else 0.0):
            found = Highest(finding, row, above >= worst - book.tolerance, worst)
    return found


def put_there(top: Highest, causes: Sequence[Cause]) -> tuple[Cause, float] | None:
    """The cause whose entry adds most in exactly those rows, and how much that is, degrees; None
    where none adds most of it."""
    added = [
        (float(np.nanmean(entry.values[top.rows])), entry)
        for entry in top.finding.ledger.entries
        if np.isfinite(entry.values[top.rows]).any()
    ]
    most, entry = max(added, key=lambda one: one[0], default=(0.0, None))
    if entry is None or most < _MOST_OF_IT * top.degrees:
        return None
    own = (c for c in causes if c.entry == entry.correction and c.file in (entry.file, None))
    cause = next(own, None)
    return (cause, most) if cause else None


def unlisted(said: str, causes: Sequence[Cause]) -> Iterator[str]:
    """What is sure and no file lists, where a headline does not tell it: nobody can look it up."""
    untold = [
        text
        for cause in causes
        if in_no_file(cause) and cause.certainty >= SURE
        if (text := lowered(cause.says).rstrip(".")) not in said
        and cause.says.rstrip(".") not in said
    ]
    if untold:
        more = f", and {len(untold) - 1} more" if len(untold) > 1 else ""
        yield f"In no file: {untold[0]}{more}."


def in_no_file(cause: Cause) -> bool:
    """Whether a cause is a rule or a held advance that no file lists."""
    return cause.rule is not None and cause.file is None and not cause.expected
