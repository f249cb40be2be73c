"""Rules for what is left over: one after another, each paying for its own length."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from weakref import WeakKeyDictionary

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.account import Account
from tuneledger.explain.cost import residual_cost
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Point
from tuneledger.explain.rules.columns import Column, columns
from tuneledger.explain.rules.curves import polished
from tuneledger.explain.rules.familiar import as_familiar, rewritten
from tuneledger.explain.rules.fitted import Fitted, active, aligned, cost_of, fitted, written
from tuneledger.explain.rules.joint import simplified, together
from tuneledger.explain.rules.offers import offers
from tuneledger.explain.rules.rivals import MOST, continued, narrower, share_of_right, tied
from tuneledger.explain.rules.sure import certainty
from tuneledger.explain.rules.thin import thinned
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import at_an_edge, unaccounted_runs
from tuneledger.ledger.model import Entry
from tuneledger.ledger.tolerance import local_change
from tuneledger.phrases import acting
from tuneledger.sidebyside import side_by_side

_MOST_RULES = 3
# Less than this is an edge of something else.
_LEAST_ROWS, _LEAST_S = 4, 0.2
_LEAST_GAIN = 10.0
_LEAST_SHARE = 0.5
_MOST_NARROWER = 4
# A rule longer than this, or one that leaves much, may be two rules at once.
_LONG_PRICE = 20.0
_CLEARLY = 4.0
_MOST_STARTS = 2
# Of those found in some rows: so many times the cost of the best, and so many nats more; the first
# few in any case.
_NEAR, _NEARBY, _LEAST_CARRIED_OUT, _MOST_CARRIED_OUT = 1.2, 30.0, 10, 24
_SETTLED = 0.02
_TAKEN_BACK = 0.7
_CLOSER, _SETTLED_LEVEL, _SETTLED_CURVE = 0.85, 0.45, 0.8


@dataclass(frozen=True, eq=False)
class Found:
    """The best rule for what was left over, and those that do as well.

    possible: longer ones that this log does not refute, for which little speaks
    starts: the best simple rule for each of the levels at which the left-over stands
    """

    best: Fitted
    tied: tuple[Fitted, ...]
    possible: tuple[Fitted, ...]
    starts: tuple[Fitted, ...]
    before: float
    after: float


# Both forget a log as soon as nobody holds its book.
_Left = tuple[bytes, frozenset[str]]
_KNOWN: WeakKeyDictionary[Book, dict[_Left, Found | None]] = WeakKeyDictionary()
_COLUMNS: WeakKeyDictionary[Book, list[Column]] = WeakKeyDictionary()


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The rules that account for what is left over; none where no rule pays for itself."""
    if not account.runs:
        return ()
    rules = _joined(book, account.left, chain(book, account, _MOST_RULES))
    for i in range(len(rules) if len(rules) > 1 else 0):
        own = _own(account.left, rules, i)
        rules[i] = _beside_the_others(book, own, rules[i], rewritten(book, account))
    return tuple(_extra(book, _own(account.left, rules, i), found) for i, found in enumerate(rules))


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


def _rest(left: FloatArray, rules: Sequence[Fitted], which: int) -> FloatArray:
    """What is left over for one rule when all the others have posted theirs."""
    others = [rule.values for i, rule in enumerate(rules) if i != which]
    return left - np.sum(others, axis=0) if others else left


def _own(left: FloatArray, rules: Sequence[Found], which: int) -> FloatArray:
    """What is left over for one rule when all the others have posted theirs."""
    return _rest(left, [found.best for found in rules], which)


def _beside_the_others(
    book: Book, left: FloatArray, before: Found, familiar: frozenset[str]
) -> Found:
    """The rule looked for once more, now that the others are known; it stays where it was better.

    left: what is left over for this rule alone
    """
    anew = _remembered(book, left, familiar)
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
    found = _remembered(book, left, rewritten(book, account))
    if found is None:
        return []
    rules = _after(book, account, found, most)
    if found.after <= max(_LEAST_GAIN, _SETTLED * found.before) and found.best.price <= _LONG_PRICE:
        return rules
    shortest = together(book, left, [one.best for one in rules])
    others = [start for start in found.starts if start.terms != found.best.terms]
    for start in others[:_MOST_STARTS]:
        tried = _after(book, account, replace(found, best=start, tied=(), possible=()), 2)
        length = together(book, left, [one.best for one in tried])
        if len(tried) > 1 and length < shortest - _CLEARLY:
            rules, shortest = tried, length
    return rules


def _after(book: Book, account: Account, first: Found, most: int) -> list[Found]:
    """A rule, and those found one after another in what it leaves, while anything is left."""
    rules, left, familiar = [first], account.left, rewritten(book, account)
    while len(rules) < most and not _settled(account, [found.best for found in rules]):
        left = left - rules[-1].best.values
        found = _remembered(book, left, familiar)
        if found is None or _takes_back(book, found, rules[-1]):
            break
        rules.append(found)
    return rules


def _settled(account: Account, posted: Sequence[Fitted]) -> bool:
    """Whether rules leave nothing over but, for a moment, their own edges."""
    entries = [Entry("", rule.values, Evidence.INFERRED) for rule in posted]
    ledger = replace(account.judging, entries=(*account.judging.entries, *entries))
    return all(at_an_edge(run, ledger) for run in unaccounted_runs(ledger))


def _takes_back(book: Book, later: Found, earlier: Found) -> bool:
    """Whether a rule only takes back what one before it posted: that is the other's own edge."""
    acts = np.abs(later.best.values) > book.tolerance
    both = (later.best.values + earlier.best.values)[acts]
    return bool((np.abs(both) <= 2 * book.tolerance).mean() >= _TAKEN_BACK) if acts.any() else False


def _remembered(book: Book, left: FloatArray, familiar: frozenset[str]) -> Found | None:
    """The best rule, looked for once where several explanations leave the same over."""
    known = _KNOWN.setdefault(book, {})
    key = (np.round(left, 6).tobytes(), familiar)
    if key not in known:
        known[key] = best_rule(book, left, familiar)
    return known[key]


def best_rule(book: Book, left: FloatArray, familiar: frozenset[str] = frozenset()) -> Found | None:
    """The rule that shortens the description most, if any does so by enough.

    familiar: channels of which the sheet already says that something follows them here
    """
    before = residual_cost(book, left, book.slack)
    if before < _LEAST_GAIN:
        return None
    offered, switches = _offered(book, left)
    tried = [as_familiar(f, familiar, left) for f in offered if _honest(book, left, f)]
    if not tried:
        return None
    best, *others = sorted(tried, key=lambda f: f.cost)
    narrow = sorted(narrower(best, left, switches), key=lambda f: f.cost)
    equals = tied(best, [*others, *narrow])
    possible = [one for one in narrow if one not in equals][:_MOST_NARROWER]
    best = aligned(book, left, _polished(book, left, best, familiar))
    after = cost_of(book, left, best.values)
    if before - best.cost < max(_LEAST_GAIN, _LEAST_SHARE * (before - after)):
        return None
    return Found(
        written(book, left, best),
        tuple(written(book, left, one) for one in equals),
        (*continued(best), *(written(book, left, one) for one in possible)),
        tuple(_starts(book, left, [best, *others])),
        before,
        after,
    )


def _offered(book: Book, left: FloatArray) -> tuple[list[Fitted], list[Column]]:
    """Every rule that is worth a look; of a long log those that are the cheapest in part of it.
    And the switches, on all rows."""
    part = thinned(book, left)
    if part is None:
        found_columns = _columns(book)
        return list(offers(book, left, found_columns)), _switches(found_columns)
    found = sorted(offers(part.book, part.left, part.columns), key=lambda f: f.cost)
    foremost = _foremost(found, book.tolerance)
    side_by_side(book.log.values, list({c: None for one in foremost for c in one.reads()}))
    whole = [part.on_all_rows(book, left, one) for one in foremost]
    return whole, [part.whole(book, column) for column in _switches(part.columns)]


def _foremost(found: Sequence[Fitted], tolerance: float) -> list[Fitted]:
    """Of rules, cheapest first, those that may be the best or as good on all rows, and for each
    amount the first short ones, from which to start."""
    shown: list[Fitted] = []
    for one in found:
        alike = [s for s in shown if abs((one.level or 0.0) - (s.level or 0.0)) <= tolerance]
        start = _short(one) and sum(map(_short, alike)) < _MOST_STARTS
        near = one.cost <= _NEAR * found[0].cost + _NEARBY
        if start or near or len(shown) < _LEAST_CARRIED_OUT:
            shown.append(one)
    return shown[:_MOST_CARRIED_OUT]


def _columns(book: Book) -> list[Column]:
    if book not in _COLUMNS:
        _COLUMNS[book] = list(columns(book))
    return _COLUMNS[book]


def _switches(found_columns: Sequence[Column]) -> list[Column]:
    return [column for column in found_columns if len(column.levels) == 2]


def _starts(book: Book, left: FloatArray, tried: Sequence[Fitted]) -> Iterator[Fitted]:
    """Short rules with an amount of their own, cheapest first, one per amount."""
    seen: list[float] = []
    for one in tried:
        if _short(one) and all(abs((one.level or 0.0) - level) > book.tolerance for level in seen):
            seen.append(one.level or 0.0)
            yield aligned(book, left, one)


def _short(rule: Fitted) -> bool:
    return rule.level is not None and rule.ramp is None and 0 < len(rule.terms) <= 2


def _honest(book: Book, left: FloatArray, rule: Fitted) -> bool:
    """Whether a rule brings the balance closer wherever it acts, and settles much of it.

    A curve has many numbers to choose and has to settle nearly all; a level may leave open where
    a second rule acts as well.
    """
    acts = np.isfinite(left) & (np.abs(rule.values) > book.tolerance)
    if acts.sum() < max(_LEAST_ROWS, _LEAST_S / book.row_s if book.row_s > 0 else 0):
        return False
    rest = np.abs(left - rule.values)[acts]
    bound = (book.tolerance + book.slack + local_change(rule.values, reach=2))[acts]
    closer = float((rest < np.abs(left[acts])).mean())
    settled = float((rest <= bound).mean())
    return closer >= _CLOSER and settled >= (_SETTLED_CURVE if rule.shape else _SETTLED_LEVEL)


def _polished(book: Book, left: FloatArray, best: Fitted, familiar: frozenset[str]) -> Fitted:
    if best.shape is None:
        return best
    rows = active(best.terms, left.size)
    shape = polished(best.shape, left, rows)
    better = as_familiar(fitted(book, left, best.terms, shape=shape), familiar, left)
    return better if better.cost < best.cost else best


def _extra(book: Book, left: FloatArray, found: Found) -> Extra:
    best = found.best
    rows = np.isfinite(left) & (np.abs(best.values) > book.tolerance)
    return Extra(
        kind="hidden rule",
        rows=rows,
        certainty=certainty(book, left, best, share_of_right(best, found.tied)),
        price=best.price,
        entry="",
        values=best.values,
        leeway=_leeway(best),
        rule=best.rule(),
        alternatives=tuple(one.rule() for one in (*found.tied, *found.possible)[:MOST]),
        points=tuple(_points(best)),
    )


def _leeway(rule: Fitted) -> tuple[FloatArray, FloatArray]:
    """What the rule may post besides, downwards and upwards, at thresholds and along its curve."""
    might = np.where(np.abs(rule.values) > 0, -rule.values, rule.doubt)
    might = np.where(rule.doubt != 0, might, 0.0)
    along = rule.shape.resolution() if rule.shape else np.zeros(might.shape)
    return np.maximum(-might, 0.0) + along, np.maximum(might, 0.0) + along


def _points(best: Fitted) -> Iterator[Point]:
    for term in best.terms:
        yield Point(
            "for",
            f"acts only {acting([term.written()], {term.column.name: term.column.channel.unit})}",
            term.column.name,
            term.limit if term.side else None,
        )
    if best.shape is not None:
        yield Point("for", f"follows {best.shape.column.name} as a curve", best.shape.column.name)
