"""Rules of every kind that may account for what is left over, each carried out and priced."""

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.cost import most_saved, residual_cost, row_share
from tuneledger.explain.rules.columns import Column
from tuneledger.explain.rules.cover import PER_TERM, covers
from tuneledger.explain.rules.curves import shapes
from tuneledger.explain.rules.fitted import Fitted, active, fitted
from tuneledger.explain.rules.pattern import Pattern, busy_pattern, levels
from tuneledger.explain.rules.ramps import Rates, rates, unramped
from tuneledger.explain.rules.refine import refined, with_release
from tuneledger.explain.rules.shape import Shape
from tuneledger.explain.rules.terms import PLACED_PRICE, Term, apart, terms
from tuneledger.explain.rules.timers import timers, timing_of
from tuneledger.ledger.book import Book

# Covers that are refined: more only take time. Judgement.
_REFINED = 14
# Nats of a hysteresis: how far back it lets go.
_RELEASE_PRICE = 3.0
# More conditions, and more curves beside them, fit anything: judgement.
_MOST_BESIDE_A_CURVE, _SHAPES_BESIDE = 2, 3
_MOST_TERMS, _MOMENTS_TRIED = 3, 8
# A level that could save no more than this share is small beside one that saves the rest.
_SMALL, _CLEARLY = 0.1, 10.0


def offers(
    book: Book, left: FloatArray, found_columns: Sequence[Column], *, curves: bool = True
) -> Iterator[Fitted]:
    """Every rule that is worth a look; without `curves` those of one level."""
    before, least = residual_cost(book, left, book.slack), np.inf
    for pattern in levels(book, left):
        # Beside a rule that settles nearly all, a level of what its edges leave is not worth one.
        saves = most_saved(book, left, pattern.level or 0.0)
        if saves < _SMALL * before and before - saves > least + _CLEARLY:
            continue
        for one in _at_a_level(book, left, pattern, found_columns):
            least = min(least, one.cost)
            yield one
    busy = busy_pattern(book, left) if curves else None
    if busy is None:
        return
    everywhere = np.isfinite(left)
    for shape in shapes(book, left, everywhere, found_columns):
        yield fitted(book, left, (), shape=shape)
    acting = list(islice(shapes(book, left, busy.acts, found_columns), _SHAPES_BESIDE))
    if acting:
        for found in _chosen(book, busy, list(_single(book, busy, found_columns))):
            for shape in acting:
                terms_, anchored = _anchored(refined(found, busy), shape)
                # A curve under three conditions has numbers enough to say anything.
                if len(terms_) <= _MOST_BESIDE_A_CURVE:
                    yield fitted(book, left, terms_, shape=anchored)


def _at_a_level(
    book: Book, left: FloatArray, pattern: Pattern, found_columns: Sequence[Column]
) -> Iterator[Fitted]:
    steady = rates(book, left, pattern.level or 0.0)
    yield fitted(book, left, (), level=pattern.level, steady=steady)
    for turned in (pattern, *unramped(book, left, pattern.level or 0.0)):
        as_seen = replace(turned, level=pattern.level)
        yield from _with_conditions(book, left, as_seen, found_columns, steady)


def _anchored(found: Sequence[Term], shape: Shape) -> tuple[tuple[Term, ...], Shape]:
    """A threshold on the curve's own channel becomes the point at which the curve is zero."""
    own = [t for t in found if t.column is shape.column and t.timer is None and t.side != 0]
    for term in own:
        beyond = shape.at > term.limit if term.side > 0 else shape.at < term.limit
        if beyond.any():
            at = np.append(shape.at[beyond], term.limit)
            deg = np.append(shape.deg[beyond], 0.0)
            order = np.argsort(at)
            shape = Shape(shape.column, at[order], deg[order])
    return tuple(t for t in found if t not in own), shape


def _with_conditions(
    book: Book,
    left: FloatArray,
    pattern: Pattern,
    found_columns: Sequence[Column],
    steady: Rates | None,
) -> Iterator[Fitted]:
    single = list(_single(book, pattern, found_columns))
    cheapest: Fitted | None = None
    for found in _chosen(book, pattern, single):
        placed = refined(found, pattern)
        plain = fitted(book, left, placed, level=pattern.level, steady=steady)
        yield plain
        if cheapest is None or plain.cost < cheapest.cost:
            cheapest = plain
        if plain.cost - plain.price < _RELEASE_PRICE:
            continue
        for which in range(len(placed)):
            released = with_release(placed, which, pattern)
            if released is not None:
                one = fitted(book, left, released, level=pattern.level, steady=steady)
                price = one.price + _RELEASE_PRICE
                yield replace(one, price=price, cost=one.cost + _RELEASE_PRICE)
    if cheapest is None or cheapest.cost > PER_TERM + PLACED_PRICE + _RELEASE_PRICE:
        for found in _held(book, pattern, single, found_columns):
            yield fitted(book, left, refined(found, pattern), level=pattern.level, steady=steady)
    if cheapest is not None and cheapest.cost - cheapest.price > PER_TERM:
        for longer in _but_for_moments(left, pattern, cheapest, found_columns, _per_row(book)):
            yield fitted(book, left, refined(longer, pattern), level=pattern.level, steady=steady)


def _held(
    book: Book, pattern: Pattern, single: Sequence[Term], found_columns: Sequence[Column]
) -> Iterator[tuple[Term, ...]]:
    """Sets of conditions one of which has thresholds so far apart that no plain one leads to it."""
    from tuneledger.explain.rules.hysteresis import held_terms

    held = list(held_terms(found_columns, pattern, _RELEASE_PRICE))
    for found in _chosen(book, pattern, [*held, *single]) if held else ():
        if any(term.release is not None for term in found):
            yield found


def _but_for_moments(
    left: FloatArray,
    pattern: Pattern,
    best: Fitted,
    found_columns: Sequence[Column],
    per_row: float,
) -> Iterator[tuple[Term, ...]]:
    """The cheapest conditions and one more each, for the moments in which they hold and nothing
    acts: too few rows to count among all, but each of them far off."""
    on = active(best.terms, left.size)
    # A single row beside an edge may be late, but not where the rule was on all around it.
    inside = on.copy()
    for shift in (1, 2):
        inside[shift:] &= on[:-shift]
        inside[:-shift] &= on[shift:]
    rests = on & (pattern.rests | (pattern.last & inside))
    resting, acting = np.flatnonzero(rests), np.flatnonzero(on & pattern.acts)
    if len(best.terms) >= _MOST_TERMS or not resting.size:
        return
    read = {term.key() for term in best.terms}
    found = [
        (term.price + per_row * lost, term)
        for column in found_columns
        for term, lost in apart(column, acting, resting)
        if term.key() not in read
    ]
    for _, term in heapq.nsmallest(_MOMENTS_TRIED, found, key=lambda one: one[0]):
        yield (*best.terms, term)


def _single(book: Book, pattern: Pattern, found_columns: Sequence[Column]) -> Iterator[Term]:
    """Every single condition that holds wherever something acts."""
    if not pattern.rests.any():
        return
    yield from (t for column in found_columns for t in terms(column, pattern))
    timing = timing_of(pattern, book.times)
    yield from (t for column in found_columns for t in timers(column, timing))


def _chosen(book: Book, pattern: Pattern, single: Sequence[Term]) -> Iterator[tuple[Term, ...]]:
    """Sets of conditions for a pattern, cheapest first."""
    for cover in covers(single, pattern, per_row=_per_row(book), worth=book.worth)[:_REFINED]:
        yield cover.terms


def _per_row(book: Book) -> float:
    """Nats that one row on the wrong side of a condition costs."""
    return 6.0 * row_share(book)
