"""Sheets that fit the logs alike: which of them have a cause so, and where they would differ.

What all of them post is known whichever runs. What only some of them have is no surer than the tie.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.explain.account import LIMIT, OTHER_MAP
from tuneledger.explain.finding import Finding
from tuneledger.explain.loading import differences
from tuneledger.explain.model import Running
from tuneledger.explain.sheets import LaidSheet, label, same_correction
from tuneledger.ledger.model import Entry
from tuneledger.record import record

# The rows in which a cause acts, but for edges that the log rounds.
_ALIKE_SHARE = 0.95
_MOST_DIFFERENCES, _MOST_SHEETS = 3, 2  # as many as a sentence bears


@record
class Ties:
    """The sheets between which the logs cannot decide.

    best: the file of the one that the account was made with; None where nothing is tied
    twins: places of the others in the order supplied
    """

    best: str | None = None
    twins: tuple[int, ...] = ()

    def having(self, entry: Entry, finding: Finding) -> tuple[int, ...]:
        """Those of the others that post here what an entry of the best one posts."""
        if entry.file is None or entry.file != self.best:
            return ()
        mine = next(sheet for sheet in finding.laid if sheet.file == self.best)
        return tuple(i for i in self.twins if _posts_so(entry, finding, mine, finding.laid[i]))

    def share(self, entry: Entry, having: Sequence[int]) -> float:
        """The share of the tied sheets that have an entry so; 1 where it hangs on none of them."""
        if entry.file is None or entry.file != self.best:
            return 1.0
        return (1 + len(having)) / (1 + len(self.twins))


def ties(findings: Sequence[Finding], running: Running | None) -> Ties:
    """What is tied; nothing where one sheet stands out, or several ran in turn."""
    if running is None or running.best is None or running.changed or not running.twins:
        return Ties()
    laid = findings[0].laid
    return Ties(running.best_file, tuple(s.index for s in laid if s.file in running.twins))


def _posts_so(entry: Entry, finding: Finding, mine: LaidSheet, other: LaidSheet) -> bool:
    """Whether another sheet posts the same, in this log, as one does."""
    name = entry.correction
    if name == LIMIT:
        return other.calibration.spark.limits == mine.calibration.spark.limits
    if name == OTHER_MAP:
        values = other.map_values - mine.map_values
    else:
        theirs, own = other.correction(name), mine.correction(name)
        if theirs is None or own is None or not theirs.enabled:
            return False
        if same_correction(theirs, own) or theirs.logged_as is not None:
            return True
        if theirs.effect != own.effect:
            return False
        values = other.parts[name].values - mine.parts[name].values
    book = finding.book
    rows = book.judged & (np.abs(entry.values) > book.tolerance)
    apart = np.abs(values[rows]) > (book.tolerance + book.slack)[rows]
    return not rows.any() or bool((~apart).mean() >= _ALIKE_SHARE)


def named_tied(findings: Sequence[Finding], running: Running | None) -> list[str]:
    """What the tied sheets are called, the best first; empty where nothing is tied."""
    tied, laid = ties(findings, running), findings[0].laid
    best = [sheet for sheet in laid if sheet.file == tied.best]
    return [label(sheet, laid) for sheet in (*best, *(laid[i] for i in tied.twins))]


def where_they_differ(findings: Sequence[Finding], running: Running | None) -> Iterator[str]:
    """A note per tied sheet: what it has otherwise, none of which these logs show."""
    tied, laid = ties(findings, running), findings[0].laid
    best = next((sheet for sheet in laid if sheet.file == tied.best), None)
    for i in tied.twins[:_MOST_SHEETS] if best is not None else ():
        assert best is not None
        found = [one.what for one in differences(findings, laid[i], best)]
        more = len(found) - _MOST_DIFFERENCES
        told = [*found[:_MOST_DIFFERENCES], *([f"and {more} more"] if more > 0 else [])]
        if told:
            yield (
                f"revision {label(laid[i], laid)} in place of {label(best, laid)} would change "
                f"what these logs do not tell: {'; '.join(told)}"
            )
