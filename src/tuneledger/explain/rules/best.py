"""The best rule for what is left over, and those that do as well."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice
from weakref import WeakKeyDictionary

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.cost import residual_cost
from tuneledger.explain.rules.bounds import bounded
from tuneledger.explain.rules.columns import Column, columns
from tuneledger.explain.rules.curves import plain, polished
from tuneledger.explain.rules.ends import continued, sloping_ends
from tuneledger.explain.rules.familiar import Familiar, as_familiar
from tuneledger.explain.rules.fitted import Fitted, active, aligned, cost_of, fitted, written
from tuneledger.explain.rules.offers import offers
from tuneledger.explain.rules.rivals import MOST, narrower, tied
from tuneledger.explain.rules.thin import thinned
from tuneledger.ledger.book import Book
from tuneledger.ledger.tolerance import local_change
from tuneledger.record import record
from tuneledger.sidebyside import side_by_side

# Less than this is an edge of something else.
_LEAST_ROWS, _LEAST_S = 4, 0.2
# Nats by which a rule has to shorten the account, and the share of what the best of all could:
# judgement.
LEAST_GAIN = 10.0
_LEAST_SHARE = 0.5
# Bounds on the search: more only take time. Judgement.
_MOST_NARROWER = 4
_FEW_POINTS = 4
MOST_STARTS = 2
# Of those found in some rows: so many times the cost of the best, and so many nats more; the first
# few in any case.
_NEAR, _NEARBY, _LEAST_CARRIED_OUT, _MOST_CARRIED_OUT = 1.2, 30.0, 10, 24
_CLOSER, _SETTLED_LEVEL, _SETTLED_CURVE = 0.85, 0.45, 0.8


@record(eq=False)
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
_Left = tuple[bytes, Familiar, bool]
_KNOWN: WeakKeyDictionary[Book, dict[_Left, Found | None]] = WeakKeyDictionary()
_COLUMNS: WeakKeyDictionary[Book, list[Column]] = WeakKeyDictionary()


def remembered(
    book: Book, left: FloatArray, familiar: Familiar, *, curves: bool = True
) -> Found | None:
    """The best rule, looked for once where several explanations leave the same over."""
    known = _KNOWN.setdefault(book, {})
    key = (np.round(left, 6).tobytes(), familiar, curves)
    if key not in known:
        known[key] = best_rule(book, left, familiar, curves=curves)
    return known[key]


def best_rule(
    book: Book, left: FloatArray, familiar: Familiar = frozenset(), *, curves: bool = True
) -> Found | None:
    """The rule that shortens the description most, if any does so by enough.

    familiar: corrections of the sheet that are left out, and may act here with other numbers
    curves: whether what is left over may follow a channel, and not only come and go
    """
    before = residual_cost(book, left, book.slack)
    if before < LEAST_GAIN:
        return None
    offered, switches, on_all_rows = _offered(book, left, curves=curves)
    tried = [as_familiar(book, f, familiar, left) for f in offered if _honest(book, left, f)]
    if not tried:
        return None
    best, *others = sorted(tried, key=lambda f: f.cost)
    narrow = sorted(narrower(best, left, switches), key=lambda f: f.cost)
    equals = tied(best, [*others, *narrow])
    possible = [one for one in narrow if one not in equals][:_MOST_NARROWER]
    possible += islice(bounded(best, left, on_all_rows), MOST)
    rough, best = best, aligned(book, left, _polished(book, left, best, familiar))
    equals, possible = ([_along(one, rough, best) for one in some] for some in (equals, possible))
    after = cost_of(book, left, best.values)
    if before - best.cost < max(LEAST_GAIN, _LEAST_SHARE * (before - after)):
        return None
    return Found(
        written(book, left, best),
        tuple(written(book, left, one) for one in equals),
        (
            *continued(best, tuple(sloping_ends(book, best))),
            *(written(book, left, one) for one in possible),
        ),
        tuple(_starts(book, left, [best, *others])),
        before,
        after,
    )


def _offered(
    book: Book, left: FloatArray, *, curves: bool
) -> tuple[list[Fitted], list[Column], Sequence[Column]]:
    """Every rule that is worth a look; of a long log those that are the cheapest in part of it.
    And the switches, on all rows, and every other channel of which all rows are at hand."""
    part = thinned(book, left)
    if part is None:
        found_columns = columns_of(book)
        found = list(offers(book, left, found_columns, curves=curves))
        return found, _switches(found_columns), found_columns
    offered = offers(part.book, part.left, part.columns, curves=curves)
    found = sorted(offered, key=lambda f: f.cost)
    foremost = _foremost(found, book.tolerance)
    side_by_side(book.log.values, list({c: None for one in foremost for c in one.reads()}))
    whole = [part.on_all_rows(book, left, one) for one in foremost]
    return whole, [part.whole(book, column) for column in _switches(part.columns)], ()


def _foremost(found: Sequence[Fitted], tolerance: float) -> list[Fitted]:
    """Of rules, cheapest first, those that may be the best or as good on all rows, and for each
    amount the first short ones, from which to start."""
    shown: list[Fitted] = []
    for one in found:
        alike = [s for s in shown if abs((one.level or 0.0) - (s.level or 0.0)) <= tolerance]
        start = _short(one) and sum(map(_short, alike)) < MOST_STARTS
        near = one.cost <= _NEAR * found[0].cost + _NEARBY
        if start or near or len(shown) < _LEAST_CARRIED_OUT:
            shown.append(one)
    return shown[:_MOST_CARRIED_OUT]


def columns_of(book: Book) -> list[Column]:
    """The columns that a rule may read in this book, worked out once for each book."""
    if book not in _COLUMNS:
        _COLUMNS[book] = list(columns(book))
    return _COLUMNS[book]


def _switches(found_columns: Sequence[Column]) -> list[Column]:
    return [column for column in found_columns if len(column.levels) == 2]


def _starts(book: Book, left: FloatArray, tried: Sequence[Fitted]) -> Iterator[Fitted]:
    """Short rules with an amount of their own, cheapest first, per amount one of each length: an
    amount between those of two rules fits both by half, and must not hide the simpler one. So may
    a curve with many points, along a channel that went its own way meanwhile."""
    seen: list[tuple[int, float]] = []
    for one in tried:
        length, level = len(one.terms), one.level or 0.0
        apart = all(n != length or abs(x - level) > book.tolerance for n, x in seen)
        if _short(one) and apart:
            seen.append((length, level))
            yield aligned(book, left, one)
    yield from _plainer(book, left, tried)


def _plainer(book: Book, left: FloatArray, tried: Sequence[Fitted]) -> Iterator[Fitted]:
    """Where the best rule is a curve of many points: one of few along the same channel, and along
    the next best."""
    best = tried[0]
    if best.shape is None or best.shape.at.size <= _FEW_POINTS:
        return
    curves = (f.shape for f in tried if f.shape is not None and not f.terms and f.ramp is None)
    channels = {shape.column.name: shape for shape in curves}
    for shape in islice(channels.values(), 2):
        few = plain(shape, left, np.isfinite(left), _FEW_POINTS)
        yield aligned(book, left, fitted(book, left, (), shape=few))


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


def _along(one: Fitted, rough: Fitted, best: Fitted) -> Fitted:
    """A rule that only adds to the best one, along the curve as it was polished."""
    return replace(one, shape=best.shape) if one.shape is rough.shape else one


def _polished(book: Book, left: FloatArray, best: Fitted, familiar: Familiar) -> Fitted:
    if best.shape is None:
        return best
    rows = active(best.terms, left.size)
    shape = polished(best.shape, left, rows)
    better = as_familiar(book, fitted(book, left, best.terms, shape=shape), familiar, left)
    return better if better.cost < best.cost else best
