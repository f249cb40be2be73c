"""Rules for what is left over: one after another, each paying for its own length."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from weakref import WeakKeyDictionary

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.account import Account
from tuneledger.explain.caps import entries_with, gives_way, seen
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Point
from tuneledger.explain.rules import creeping, unlogged
from tuneledger.explain.rules.addedup import added_up
from tuneledger.explain.rules.best import (
    LEAST_GAIN,
    MOST_STARTS,
    Found,
    columns_of,
    remembered,
)
from tuneledger.explain.rules.ends import open_ends
from tuneledger.explain.rules.familiar import Familiar, rewritten
from tuneledger.explain.rules.fitted import Fitted, cost_of, written
from tuneledger.explain.rules.joint import simplified, together
from tuneledger.explain.rules.oneamount import doubted
from tuneledger.explain.rules.rivals import MOST, share_of_right
from tuneledger.explain.rules.sure import certainty, turns_seen
from tuneledger.explain.rules.thin import thinned
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import at_an_edge, unaccounted_runs
from tuneledger.ledger.model import Entry
from tuneledger.phrases import acting
from tuneledger.wording import quantity

_MOST_RULES = 3
# A rule longer than this, or one that leaves much, may be two rules at once.
_LONG_PRICE = 20.0
_CLEARLY = 4.0
_SETTLED = 0.02
_TAKEN_BACK = 0.7


# What was found in what is left over; forgotten as soon as nobody holds the book.
_FOUND: WeakKeyDictionary[Book, dict[tuple[bytes, Familiar], tuple[Extra, ...]]] = (
    WeakKeyDictionary()
)


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The rules that account for what is left over; none where no rule pays for itself."""
    if not account.runs:
        return ()
    account = replace(account, left=seen(book, account))
    known = _FOUND.setdefault(book, {})
    key = (account.left.tobytes(), rewritten(book, account))
    if key not in known:
        known[key] = _found(book, account, key[1])
    return known[key]


def _found(book: Book, account: Account, familiar: Familiar) -> tuple[Extra, ...]:
    rules = _joined(book, account.left, chain(book, account, _MOST_RULES))
    rules = _each_anew(book, account.left, _added_up(book, account, rules), familiar)
    if len(rules) > 2:
        rules = _with_one_less(book, account.left, rules, familiar)
    extras = [_extra(book, _own(account.left, rules, i), one) for i, one in enumerate(rules)]
    return creeping.doubted(book, doubted(book, extras))


def _each_anew(
    book: Book, left: FloatArray, rules: Sequence[Found], familiar: Familiar
) -> list[Found]:
    """Each of several rules looked for once more in what the others leave."""
    out = list(rules)
    for i in range(len(out) if len(out) > 1 else 0):
        out[i] = _beside_the_others(book, _own(left, out, i), out[i], familiar)
    return out


def _with_one_less(
    book: Book, left: FloatArray, rules: list[Found], familiar: Familiar
) -> list[Found]:
    """The rules without one that only takes back what another posts too much, if the others, looked
    for without it, say as much in less."""
    length = together(book, left, [one.best for one in rules])
    for i in range(len(rules)):
        fewer = _each_anew(book, left, [*rules[:i], *rules[i + 1 :]], familiar)
        if together(book, left, [one.best for one in fewer]) < length - _CLEARLY:
            return fewer
    return rules


def _joined(book: Book, left: FloatArray, rules: list[Found]) -> list[Found]:
    """The rules as shortly as all of them together allow."""
    if len(rules) < 2:
        return rules
    as_found = [one.best for one in rules]
    shorter = simplified(book, left, as_found)
    if shorter == as_found:
        return rules
    blank = replace(rules[0], tied=(), possible=(), starts=())
    return [
        replace(blank, best=written(book, _rest(left, shorter, i), one))
        for i, one in enumerate(shorter)
    ]


def _added_up(book: Book, account: Account, rules: list[Found]) -> list[Found]:
    """The rules, or an amount under a switch and a curve throughout, where that is shorter."""
    left, as_found = account.left, [one.best for one in rules]
    plain = len(rules) == 1 and rules[0].best.price <= _LONG_PRICE
    if plain and _settled(book, account, as_found):
        return rules
    part = thinned(book, left)
    channels = columns_of(book) if part is None else part.columns
    two = added_up(book, left, as_found, channels, part)
    return rules if two is None else [Found(one, (), (), (), 0.0, 0.0) for one in two]


def _rest(left: FloatArray, rules: Sequence[Fitted], which: int) -> FloatArray:
    """What is left over for one rule when all the others have posted theirs."""
    others = [rule.values for i, rule in enumerate(rules) if i != which]
    return left - np.sum(others, axis=0) if others else left


def _own(left: FloatArray, rules: Sequence[Found], which: int) -> FloatArray:
    """What is left over for one rule when all the others have posted theirs."""
    return _rest(left, [found.best for found in rules], which)


def _beside_the_others(book: Book, left: FloatArray, before: Found, familiar: Familiar) -> Found:
    """The rule looked for once more, now that the others are known; it stays where it was better.

    left: what is left over for this rule alone
    """
    anew = remembered(book, left, familiar)
    if anew is None:
        return before
    cost = cost_of(book, left, before.best.values) + before.best.price
    return anew if anew.best.cost <= cost + 1e-9 else replace(before, tied=anew.tied)


def chain(book: Book, account: Account, most: int) -> list[Found]:
    """One rule after another, each for what the last one leaves.

    Where two rules overlap in time, what looks best alone need not come first: a simple start that
    leaves a simple rest is shorter than one rule that tries to say both.
    """
    left = account.left
    found = remembered(book, left, rewritten(book, account))
    if found is None:
        return []
    rules = _after(book, account, found, most)
    if found.after <= max(LEAST_GAIN, _SETTLED * found.before) and found.best.price <= _LONG_PRICE:
        return rules
    shortest = together(book, left, [one.best for one in rules])
    others = [start for start in found.starts if start.terms != found.best.terms]
    curves = [start for start in found.starts if start.shape is not None]
    for start in (*others[:MOST_STARTS], *curves):
        tried = _after(book, account, replace(found, best=start, tied=(), possible=()), 2)
        length = together(book, left, [one.best for one in tried])
        if len(tried) > 1 and length < shortest - _CLEARLY:
            rules, shortest = tried, length
    return rules


def _after(book: Book, account: Account, first: Found, most: int) -> list[Found]:
    """A rule, and those found one after another in what it leaves, while anything is left."""
    rules, left, familiar = [first], account.left, rewritten(book, account)
    while len(rules) < most and not _settled(book, account, [found.best for found in rules]):
        left = left - rules[-1].best.values
        found = remembered(book, left, familiar)
        if found is None or _takes_back(book, found, rules[-1]):
            break
        rules.append(found)
    return rules


def _settled(book: Book, account: Account, posted: Sequence[Fitted]) -> bool:
    """Whether rules leave nothing over but, for a moment, their own edges."""
    entries = [Entry("", rule.values, Evidence.INFERRED) for rule in posted]
    change = gives_way(book, account, np.sum([rule.values for rule in posted], axis=0))
    ledger = replace(account.judging, entries=(*entries_with(account.judging, change), *entries))
    return all(at_an_edge(run, ledger) for run in unaccounted_runs(ledger))


def _takes_back(book: Book, later: Found, earlier: Found) -> bool:
    """Whether a rule only takes back what one before it posted: that is the other's own edge."""
    acts = np.abs(later.best.values) > book.tolerance
    both = (later.best.values + earlier.best.values)[acts]
    return bool((np.abs(both) <= 2 * book.tolerance).mean() >= _TAKEN_BACK) if acts.any() else False


def _extra(book: Book, left: FloatArray, found: Found) -> Extra:
    best = found.best
    rows = np.isfinite(left) & (np.abs(best.values) > book.tolerance)
    among = share_of_right(best, found.tied)
    return Extra(
        kind="hidden rule",
        rows=rows,
        certainty=certainty(book, left, best, among),
        among=among,
        price=best.price,
        entry="",
        values=best.values,
        leeway=_leeway(best),
        rule=best.rule(),
        alternatives=tuple(one.rule() for one in (*found.tied, *found.possible)[:MOST]),
        points=tuple(_points(book, left, best)),
    )


def _leeway(rule: Fitted) -> tuple[FloatArray, FloatArray]:
    """What the rule may post besides, downwards and upwards, at thresholds and along its curve."""
    might = np.where(np.abs(rule.values) > 0, -rule.values, rule.doubt)
    might = np.where(rule.doubt != 0, might, 0.0)
    along = rule.shape.resolution() if rule.shape else np.zeros(might.shape)
    return np.maximum(-might, 0.0) + along, np.maximum(might, 0.0) + along


def _points(book: Book, left: FloatArray, best: Fitted) -> Iterator[Point]:
    for term in best.terms:
        yield Point(
            "for",
            f"acts only {acting([term.written()], {term.column.name: term.column.channel.unit})}",
            term.column.name,
            term.limit if term.side else None,
        )
    if best.shape is not None:
        name, unit = best.shape.column.name, best.shape.column.channel.unit
        yield Point("for", f"follows {name} as a curve", name)
        for end in open_ends(book, best):
            where = f"{'above' if end.side > 0 else 'below'} {quantity(end.at, unit)}"
            yield Point("against", f"what it does with {name} {where} was not seen", name, end.at)
    if unlogged.logged(best, turns_seen(book, left, best)) < unlogged.WORTH_SAYING:
        yield Point("against", unlogged.SAYS)
