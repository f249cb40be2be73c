"""One log explained: the chosen account, what was found beyond it, and what is still left over."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain.account import Account
from tuneledger.explain.cost import left_over
from tuneledger.explain.knocking import beside_knock
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import SURE
from tuneledger.explain.offer import beside_the_others, offer, posted, posting, set_aside
from tuneledger.explain.search import Departure
from tuneledger.explain.sheets import LaidSheet
from tuneledger.explain.spans import Stretch
from tuneledger.explain.trial import Trial
from tuneledger.explain.weigh import rules_in_place, suspicions, with_rules
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import Run, at_an_edge, rows_of
from tuneledger.ledger.model import Ledger

if TYPE_CHECKING:
    from tuneledger.explain.stages import Stages

# What some stages gave: what they found, and the account with it.
_Known = dict[tuple[object, ...], tuple[tuple[Extra, ...], Account]]


@dataclass(frozen=True, eq=False)
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


def look_further(
    book: Book,
    account: Account,
    laid: Sequence[LaidSheet],
    trial: Trial | None,
    *,
    rules_from: int,
    departures_cost: float = 0.0,
) -> Finding:
    """Ask every finder in turn about what is left over, and post what it found.

    rules_from: the number of the first rule that may be named here (`rule-1`)
    departures_cost: nats that the account already paid for departing from its sheet
    """

    known: _Known = {}

    def ask(stages: "Stages") -> Finding:
        extras, after = _asked(stages, book, account, laid, rules_from, known)
        return Finding(
            book,
            tuple(laid),
            after,
            extras,
            after.ledger,
            _unknown(after, extras),
            trial,
            departures_cost + left_over(book, after) + sum(extra.price for extra in extras),
            account,
        )

    if not account.runs:
        return ask(())
    # The many ways of finding something are imported where something is left to be found.
    from tuneledger.explain.idlework import as_governor, in_either_order
    from tuneledger.explain.stages import STAGES, UNSUSPECTING

    found = as_governor(_or_possible(in_either_order(ask, STAGES), ask))
    suspects = suspicions(account.sheet, found.extras)
    if not suspects:
        return found
    bare = in_either_order(ask, UNSUSPECTING)
    return _weighed(found, bare, suspects)


def _or_possible(found: Finding, ask: "Callable[[Stages], Finding]") -> Finding:
    """What was found, but where its rules are not sure what the sheet's own working may have done.

    What the ECU works out itself fits almost anything, so that a rule that is sure goes before it;
    one that is not leaves the sheet's correction the likelier, and its channel to be asked for.
    """
    found = _beside_knock(found)
    weak = [e for e in found.extras if e.kind == "hidden rule" and e.certainty < SURE]
    if not weak:
        return found
    from tuneledger.explain.stages import POSSIBLE_FIRST

    first = ask(POSSIBLE_FIRST)
    named = [
        e for e in first.extras if e.values is None and any((e.rows & w.rows).any() for w in weak)
    ]
    if not named:
        return found
    beside = with_rules(named, found.extras)
    extras = (beside[e.correction or ""] if e in named else e for e in first.extras)
    return replace(first, extras=tuple(extras))


def _beside_knock(found: Finding) -> Finding:
    """What was found, its rules as sure as they are beside knock control of which nothing shows."""
    if not any(extra.kind == "hidden rule" for extra in found.extras):
        return found
    from tuneledger.explain.rules.sure import lasting_edges

    def one(extra: Extra) -> Extra:
        if extra.kind != "hidden rule" or extra.values is None:
            return extra
        edges = lasting_edges(found.book, extra.values)
        return beside_knock(found.book, found.account.sheet, extra, edges)

    return replace(found, extras=tuple(one(extra) for extra in found.extras))


def _asked(
    stages: "Stages",
    book: Book,
    account: Account,
    laid: Sequence[LaidSheet],
    rules_from: int,
    known: _Known,
) -> tuple[tuple[Extra, ...], Account]:
    """What the finders found, stage by stage, and the account with it.

    known: what the first so many stages gave where they were asked before
    """
    extras: tuple[Extra, ...] = ()
    for number, stage in enumerate(stages, start=1):
        if not account.runs:
            break
        so_far = tuple(stages[:number])
        if so_far not in known:
            offers = [
                offer(book, account, find(book, account, laid), rules_from + posting(extras))
                for find in stage
            ]
            best = min(offers, key=lambda one: one.cost)
            known[so_far] = (*extras, *beside_the_others(best, offers)), best.account
        extras, account = known[so_far]
    return extras, account


def _weighed(found: Finding, bare: Finding, suspects: Sequence[Extra]) -> Finding:
    """What was found with suspicions, or without where rules are sure enough in their place.

    bare: what is found where nothing is suspected
    """
    spoken = np.any([one.rows for one in suspects], axis=0)
    sheet = found.account.sheet
    rules = rules_in_place(found.book, sheet, suspects, bare.extras)
    if rules is not None and not (rows_of(bare.unknown, spoken.size) & spoken).any():
        return replace(bare, extras=rules)
    beside = with_rules(suspects, bare.extras)
    extras = tuple(
        beside[extra.correction or ""] if extra in suspects else extra for extra in found.extras
    )
    return replace(found, extras=extras)


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
        unknown=_unknown(account, extras),
        cost=finding.cost + prices + left,
    )


def _unknown(account: Account, extras: Sequence[Extra]) -> tuple[Run, ...]:
    """Runs that nothing accounts for."""
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
