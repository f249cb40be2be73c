"""What the log cannot tell of a correction at its threshold, in words.

Delivered shows whether it acted. Whether it should have is another matter: where its input stood at
the threshold, within what the log resolves, neither answer refutes the sheet.
"""

from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from tuneledger.explain.finding import Finding
from tuneledger.phrases import condition
from tuneledger.record import record
from tuneledger.wording import listing, seconds

# Passing through a threshold leaves a moment open each time; standing at it is worth a word.
_LEAST_S = 1.0


@record
class Undecided:
    """One correction in one log: for how long it was open whether it should act, and how long of
    that it did."""

    file: str
    correction: str
    where: str
    open_s: float
    on_s: float


def undecided(findings: Sequence[Finding]) -> list[Undecided]:
    """Every correction that stood at its threshold for long enough to be worth a word."""
    return [one for finding in findings for one in _of(finding) if one.open_s >= _LEAST_S]


def _of(finding: Finding) -> Iterator[Undecided]:
    book, account = finding.book, finding.account
    if account.sheet is None:
        return
    row_s = book.row_s / max(float(book.own.mean()), 1e-9)
    for name, settled in account.settled.items():
        bounds = account.sheet.doubt.get(name)
        if bounds is None:
            continue
        yield Undecided(
            file=book.log.file,
            correction=name,
            where=condition(bounds.where.model_dump(by_alias=True, exclude_none=True)),
            open_s=float(np.sum(settled.open_ & book.judged)) * row_s,
            on_s=float(np.sum(settled.on & book.judged)) * row_s,
        )


def notes(found: Iterable[Undecided]) -> list[str]:
    """One note each: what is open, and what delivered shows."""
    return [
        f"{one.file}: for {seconds(one.open_s)} this log cannot tell whether '{one.correction}' "
        f"should have acted ({one.where}): its input stood at the threshold, within what the log "
        f"resolves; {_shown(one)}"
        for one in found
    ]


def _shown(one: Undecided) -> str:
    if one.on_s <= 0.02 * one.open_s:
        return "delivered shows that it did not"
    if one.on_s >= 0.98 * one.open_s:
        return "delivered shows that it did"
    return f"delivered shows that it did for {seconds(one.on_s)} of them"


def clause(found: Sequence[Undecided]) -> str:
    """For a headline that would otherwise claim too much; empty where nothing is open."""
    if not found:
        return ""
    names = listing(dict.fromkeys(f"'{one.correction}'" for one in found))
    longest = max(one.open_s for one in found)
    return f"For {seconds(longest)} it cannot be told whether {names} should have acted."
