"""Where an entry acts in a log, and how sure that is: whether the account balances there."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain.credit import suspected, told
from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import SUSPECTED
from tuneledger.explain.raised import raised_rows
from tuneledger.ledger.model import Entry
from tuneledger.record import record

# What counts where several entries, each within tolerance, make a difference together.
_SMALL_DEG = 0.05


@record(eq=False)
class Acting:
    """Where one entry acts in one log: rows beyond tolerance, and whether the sum comes out there.

    right: share of those rows in which nothing is left over, of those that show it
    seen:  how many show it: not where something is suspected that nobody can compute
    raised: rows in which it puts delivered above scheduled under load
    """

    finding: Finding
    entry: Entry
    rows: BoolArray
    right: float
    seen: int
    raised: BoolArray

    @property
    def seconds(self) -> float:
        return float(self.rows.sum()) * self.finding.book.row_s / max(self._own_share, 1e-9)

    @property
    def _own_share(self) -> float:
        return float(self.finding.book.own.mean())


def acting(finding: Finding, entry: Entry, among: BoolArray | None = None) -> Acting | None:
    """The rows in which an entry matters, or None where it never does.

    among: rows in which even what lies within tolerance matters; None: beyond tolerance everywhere
    """
    book = finding.book
    size = np.abs(entry.values)
    rows = book.judged & (size > book.tolerance if among is None else among & (size > _SMALL_DEG))
    if not rows.any():
        return None
    bound = book.tolerance + book.slack + finding.ledger.edge_slack
    left = finding.account.judging.beyond_leeway - told(finding)
    open_ = suspected(finding)
    shows = rows & np.isfinite(left) & ~open_
    right = float((np.abs(left[shows]) <= bound[shows]).mean()) if shows.any() else 1.0
    raised = raised_rows(finding, entry.values, rows)
    return Acting(finding, entry, rows, right, int((rows & ~open_).sum()), raised)


def certainty(where: Sequence[Acting]) -> float:
    """How sure: the sum comes out where it acts, over enough rows to mean something; no surer than
    a suspicion where one stands before all of them."""
    right = float(np.average([w.right for w in where], weights=[w.rows.sum() for w in where]))
    acts, shown = (
        1.0 - 0.5 ** (rows / 3.0)
        for rows in (sum(int(w.rows.sum()) for w in where), sum(w.seen for w in where))
    )
    sure = 0.99 * right**1.5 * shown + SUSPECTED * (acts - shown)
    return round(float(np.clip(sure, 0.0, 0.99)), 2)
