"""What a finder found, posted to the account: what that would leave, and at what length."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.account import Account, Aside
from tuneledger.explain.caps import entries_with, gives_way
from tuneledger.explain.cost import left_over
from tuneledger.explain.leftover.model import Extra
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import Run, lasting, true_runs, unaccounted_runs
from tuneledger.ledger.model import Entry, Ledger
from tuneledger.record import record

# What speaks for this share of a run speaks for its edges, and for what they bridge.
_SPOKEN_SHARE = 0.8
# Nats by which another map has to do better than a rule to be as likely as not, and how fast it
# becomes likelier beyond that: judgement, checked on made cases.
_EVEN, _PER_NAT = 3.0, 3.0


@record(eq=False)
class Offer:
    """What one finder would make of the account, and the length of that explanation in nats."""

    extras: tuple[Extra, ...]
    account: Account
    cost: float


def offer(book: Book, account: Account, found: Sequence[Extra], rules_from: int) -> Offer:
    """What was found, posted to the account under names of its own, to be judged beside other
    offers.

    rules_from: the number of the first rule that is in no file
    """
    named: list[Extra] = []
    for extra in found:
        if extra.values is None:
            named.append(extra)
            account = set_aside(account, extra)
            continue
        entry = extra.entry or extra.correction or f"rule-{rules_from + posting(named)}"
        named.append(replace(extra, entry=entry))
        account = posted(book, account, named[-1])
    cost = left_over(book, account) + sum(extra.price for extra in named)
    return Offer(tuple(named), account, cost)


def beside_the_others(best: Offer, offers: Sequence[Offer]) -> tuple[Extra, ...]:
    """What was found, another map no surer than the next best explanation leaves it.

    Cells can be fitted to much; what a rule does nearly as well may be that rule.
    """
    behind = min((one.cost for one in offers if one is not best), default=np.inf) - best.cost
    most = 1.0 / (1.0 + np.exp(-(behind - _EVEN) / _PER_NAT))
    return tuple(
        replace(extra, certainty=min(extra.certainty, float(most)))
        if extra.kind == "other map"
        else extra
        for extra in best.extras
    )


def posting(extras: Sequence[Extra]) -> int:
    """How many of them post degrees to the ledger."""
    return sum(extra.values is not None for extra in extras)


def posted(book: Book, account: Account, extra: Extra) -> Account:
    """The account with one more entry; one of that name becomes a part of it.

    What is added goes through the caps and limits of the sheet, which then take so much less.
    """
    assert extra.values is not None and extra.entry is not None  # noqa: PT018
    entry = Entry(
        extra.entry, extra.values, extra.evidence, extra.channel, extra.revision, extra.expected
    )
    before = extra.kind != "limit" and not extra.alone
    change = gives_way(book, account, extra.values) if before else {}
    ledger = _with(account.ledger, entry, extra, change)
    judging = _with(account.judging, entry, extra, change)
    left = account.left - np.nan_to_num(extra.values) - sum(change.values())
    if extra.alone:
        left = left + np.where(extra.values != 0, _sum_of(account.judging), 0.0)
    aside = account.aside
    if aside is not None and not extra.alone:
        taken = np.nan_to_num(extra.values) + sum(change.values())
        aside = replace(aside, left=aside.left - taken)
    runs = tuple(unaccounted_runs(judging))
    return replace(account, ledger=ledger, judging=judging, left=left, runs=runs, aside=aside)


def _with(ledger: Ledger, entry: Entry, extra: Extra, change: Mapping[str, FloatArray]) -> Ledger:
    """The ledger with one more entry, and with the leeway that its thresholds need."""
    leeway = ledger.leeway
    if extra.leeway is not None and leeway is not None:
        leeway = (leeway[0] + extra.leeway[0], leeway[1] + extra.leeway[1])
    entries = entries_with(ledger, change)
    if extra.alone:
        rows = np.nan_to_num(entry.values) != 0
        entries = tuple(replace(e, values=np.where(rows, 0.0, e.values)) for e in entries)
    same = [e for e in entries if e.correction == entry.correction]
    for one in same:
        entry = replace(entry, values=entry.values + one.values)
    kept = (e for e in entries if e not in same)
    return replace(ledger, entries=(*kept, entry), leeway=leeway)


def _sum_of(ledger: Ledger) -> FloatArray:
    total: FloatArray = np.zeros(ledger.times.shape)
    for entry in ledger.entries:
        total = total + np.nan_to_num(entry.values)
    return total


def set_aside(account: Account, extra: Extra) -> Account:
    """The account without the rows that a suspicion speaks for: no later finder explains them."""
    runs = tuple(one for run in account.runs for one in unspoken(account, extra.rows, run))
    rest = np.nan if extra.shown is None else account.left - extra.shown
    aside = account.aside if extra.reach is None else _aside(account, extra.rows, extra.reach)
    left = np.where(extra.rows, rest, account.left)
    return replace(account, left=left, runs=runs, aside=aside)


def _aside(account: Account, rows: BoolArray, reach: tuple[FloatArray, FloatArray]) -> Aside:
    """What stays open where a suspicion speaks, beside what others speak for already."""
    low, high = reach
    new = [np.where(rows, one, np.nan) for one in (account.left, low, high)]
    if account.aside is not None:  # several that may have shared it reach so much further
        old = account.aside
        both = np.isfinite(old.left) & rows
        new = [
            np.where(both, old.left, np.where(rows, new[0], old.left)),
            np.where(both, old.low + low, np.where(rows, low, old.low)),
            np.where(both, old.high + high, np.where(rows, high, old.high)),
        ]
    return Aside(*new)


def quiet_beside(account: Account) -> Account:
    """The account with nothing left over where suspicions speak: what else acts is silent there."""
    if account.aside is None:
        return account
    return replace(account, left=np.where(np.isfinite(account.aside.left), 0.0, account.left))


def contradicts(book: Book, account: Account) -> bool:
    """Whether what was posted has suspicions post, for more than a moment, what they cannot."""
    if account.aside is None:
        return False
    beyond = np.nan_to_num(account.aside.beyond)
    bound = 2.0 * book.tolerance + book.slack + account.ledger.edge_slack
    return bool(lasting(true_runs(np.abs(beyond) > bound), book.row_s))


def unspoken(account: Account, spoken: BoolArray, run: Run) -> list[Run]:
    """The run; but where something speaks for most of it, only what else of it lasts.

    spoken: the rows that it speaks for
    """
    first, last = run
    here = spoken[first : last + 1]
    if here.mean() < _SPOKEN_SHARE:
        return [run]
    left = np.abs(np.nan_to_num(account.left[first : last + 1]))
    open_ = true_runs(~here & (left > account.judging.tolerance))
    return [(first + a, first + b) for a, b in lasting(open_, account.judging.row_s)]
