"""One log explained: the chosen account, what was found beyond it, and what is still left over."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain.account import Account
from tuneledger.explain.cost import left_over
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.offer import posted, set_aside
from tuneledger.explain.search import Departure
from tuneledger.explain.sheets import LaidSheet
from tuneledger.explain.spans import Stretch
from tuneledger.explain.trial import Trial
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import Run, at_an_edge
from tuneledger.ledger.model import Ledger
from tuneledger.record import record


@record(eq=False)
class Finding:
    """What one log says.

    laid:    every supplied sheet over this log, in order; empty without sheets
    ledger:  every entry, those of `extras` included
    unknown: runs of rows that nothing accounts for
    trial:   the chosen sheet on this log, None without sheets
    cost:    nats: what is left over, and the length of what was found beyond the sheet
    departures: where the account departs from the sheet as it was handed over
    base:    the account before anything was found beyond the sheet
    stretches: which sheet ran when, where the revision changed on the way or from log to log;
             empty where one sheet stands for all
    first:   the first sheet on this log, where another one accounts for it in its place
    """

    book: Book
    laid: tuple[LaidSheet, ...]
    account: Account
    extras: tuple[Extra, ...]
    ledger: Ledger
    unknown: tuple[Run, ...]
    trial: Trial | None
    cost: float
    base: Account
    departures: tuple[Departure, ...] = ()
    stretches: tuple[Stretch, ...] = ()
    first: Trial | None = None

    @property
    def settled(self) -> bool:
        """Whether nothing is left over that no cause speaks for."""
        return not self.unknown


def cost_within(finding: Finding, rows: BoolArray) -> float:
    """The cost of a finding as far as it speaks of these rows."""
    silent = ~rows & np.isfinite(finding.base.left)
    if not silent.any():
        return finding.cost
    elsewhere = [extra.price for extra in finding.extras if not (extra.rows & rows).any()]
    outside = left_over(finding.book, finding.account, silent)
    return finding.cost - sum(elsewhere) - outside


def posted_anew(finding: Finding, extras: Sequence[Extra]) -> Finding:
    """The finding with these extras in place of its own, each with the entry that it names."""
    account = finding.base
    for extra in extras:
        if extra.values is not None:
            account = posted(finding.book, account, extra)
        else:
            account = set_aside(account, extra)
    prices = sum(extra.price for extra in extras) - sum(extra.price for extra in finding.extras)
    left = left_over(finding.book, account) - left_over(finding.book, finding.account)
    return replace(
        finding,
        account=account,
        extras=tuple(extras),
        ledger=account.ledger,
        unknown=unknown_runs(account, extras),
        cost=finding.cost + prices + left,
    )


def unknown_runs(account: Account, extras: Sequence[Extra]) -> tuple[Run, ...]:
    """Runs that nothing accounts for, nothing that was found speaks for, and that are no edges."""
    return tuple(
        run
        for run in account.runs
        if not _spoken_for(run, account, extras) and not at_an_edge(run, account.judging)
    )


def _spoken_for(run: Run, account: Account, extras: Sequence[Extra]) -> bool:
    """Whether a suspicion, or an idle governor's own memory, speaks for most of what a run leaves
    over; between rows that leave much a run has rows that leave nothing."""
    rows = slice(run[0], run[1] + 1)
    judged = np.abs(np.nan_to_num(account.left[rows])) > account.judging.tolerance
    if not judged.any():
        return True
    covered: BoolArray = np.zeros(account.left.shape, dtype=np.bool_)
    for extra in extras:
        if extra.values is None or extra.expected is not None:
            covered |= extra.rows
    return bool(covered[rows][judged].mean() >= 0.8)
