"""What is left over, looked into: every finder asked in turn, and what they found weighed."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from tuneledger.explain.account import Account
from tuneledger.explain.cost import left_over
from tuneledger.explain.finding import Finding, unknown_runs
from tuneledger.explain.knocking import beside_knock
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import SURE
from tuneledger.explain.offer import (
    beside_the_others,
    contradicts,
    offer,
    posting,
    quiet_beside,
)
from tuneledger.explain.sheets import LaidSheet
from tuneledger.explain.trial import Trial
from tuneledger.explain.weigh import rules_in_place, suspicions, with_rules
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import rows_of

if TYPE_CHECKING:
    from tuneledger.explain.stages import Stages

# What some stages gave: what they found, and the account with it.
_Known = dict[tuple[object, ...], tuple[tuple[Extra, ...], Account]]


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
            unknown_runs(after, extras),
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
    if not suspects or (found.settled and all(one.drifts for one in suspects)):
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
            if contradicts(book, best.account) and not contradicts(book, account):
                # What acts only where no suspicion speaks may do without that.
                quiet = quiet_beside(account)
                more = [
                    offer(book, account, find(book, quiet, laid), rules_from + posting(extras))
                    for find in stage
                ]
                offers = [*offers, *more]
                best = min(
                    (one for one in offers if not contradicts(book, one.account)),
                    key=lambda one: one.cost,
                    default=offer(book, account, (), rules_from),
                )
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
