"""An amount while a switch is on, and a curve that acts all the time: two causes that add up.

Found one after another, the curve is read out of rows with the amount and rows without it, and
comes out twice: once while the switch is on, and once while it is off; or not at all. But when the
switch turns, what is left over moves by the amount, and the curve hardly does in that moment.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.lookup import weights_1d
from tuneledger.explain.rules.columns import ODD, Column
from tuneledger.explain.rules.curves import polished, shapes
from tuneledger.explain.rules.fitted import Fitted, cost_of, fitted
from tuneledger.explain.rules.joint import together
from tuneledger.explain.rules.shape import Shape
from tuneledger.explain.rules.terms import Term
from tuneledger.explain.rules.thin import Thinned
from tuneledger.ledger.book import Book

# What is left over before and after the switch turns is looked at this far from it.
_BESIDE_S, _BESIDE_ROWS = 0.3, 3
# So many of the turns move it alike.
_ALIKE = 0.6
# Bounds on the search, and turns of fitting: more only take time. Judgement.
_SWITCHES, _CURVES, _ROUNDS = 4, 3, 4
_CLEARLY, _LEAST_GAIN = 4.0, 10.0
# A pair with its points roughly placed that leaves more than this share is not worth more time.
_HOPEFUL = 0.3


def added_up(
    book: Book,
    left: FloatArray,
    rules: Sequence[Fitted],
    found: Sequence[Column],
    part: Thinned | None,
) -> list[Fitted] | None:
    """An amount while a switch is on, and a curve throughout, where the two, with the amounts that
    read no switch or without them, say as much as the rules in clearly less; else None.

    found: the channels, in all rows or in those of `part`
    """
    amounts = [rule for rule in rules if rule.shape is None and not _switched(rule)]
    best, length = None, together(book, left, rules) - _CLEARLY if rules else _alone(book, left)
    for kept in ([], amounts) if amounts else ([],):
        rest = left - np.sum([rule.values for rule in kept], axis=0) if kept else left
        for two in _two(book, rest, found, part):
            now = together(book, left, [*two, *kept])
            if now < length:
                best, length = [*two, *kept], now
    return best


def _alone(book: Book, left: FloatArray) -> float:
    """The length of saying nothing, less what has to be gained."""
    return cost_of(book, left, np.zeros(left.shape)) - _LEAST_GAIN


def _switched(rule: Fitted) -> bool:
    return any(term.side == 0 and term.timer is None for term in rule.terms)


def _two(
    book: Book, left: FloatArray, found: Sequence[Column], part: Thinned | None
) -> Iterator[list[Fitted]]:
    """An amount under each of the switches that move what is left over, with a curve throughout."""
    here, left_here = (book, left) if part is None else (part.book, left[part.rows])
    for term, amount in _turning(here, left_here, found):
        for two in _pairs(here, left_here, term, amount, found):
            yield two if part is None else [part.on_all_rows(book, left, one) for one in two]


def _turning(book: Book, left: FloatArray, found: Sequence[Column]) -> list[tuple[Term, float]]:
    """Switches at whose turns what is left over moves by one amount, those that turn most first."""
    rated = []
    for column in found:
        if len(column.levels) != 2 or column.price >= ODD:
            continue
        # What acts while a switch is off is a matter of where the curve begins.
        term = Term(column, column.values, 0, max(column.levels), column.price)
        moved = _at_its_turns(book, left, term)
        if not moved.size:
            continue
        amount = float(np.median(moved))
        alike = np.abs(moved - amount) <= 2.0 * book.tolerance
        if abs(amount) > 2.0 * book.tolerance and alike.mean() >= _ALIKE:
            rated.append((int(alike.sum()), term, amount))
    rated.sort(key=lambda one: -one[0])
    return [(term, amount) for _, term, amount in rated[:_SWITCHES]]


def _at_its_turns(book: Book, left: FloatArray, term: Term) -> FloatArray:
    """By how much what is left over moves each time, degrees, as if the switch went on."""
    turns = np.flatnonzero(term.holds[1:] != term.holds[:-1]) + 1
    before = np.searchsorted(book.times, book.times[turns] - _BESIDE_S) - _BESIDE_ROWS
    after = np.searchsorted(book.times, book.times[turns] + _BESIDE_S) + _BESIDE_ROWS
    inside = (before >= 0) & (after < left.size)
    turns, before, after = turns[inside], before[inside], after[inside]
    steady = (term.holds[before] != term.holds[turns]) & (term.holds[after] == term.holds[turns])
    moved = np.where(term.holds[turns], 1.0, -1.0) * (left[after] - left[before])
    return np.asarray(moved[steady & np.isfinite(moved)])


def _pairs(
    book: Book, left: FloatArray, term: Term, amount: float, found: Sequence[Column]
) -> Iterator[list[Fitted]]:
    """The amount with one amount throughout, and with a curve along each of the channels that suit
    best."""
    everywhere = np.isfinite(left)
    rest = left - amount * term.holds
    throughout = fitted(book, rest, (), level=float(np.median(rest[everywhere])))
    if abs(throughout.level or 0.0) > book.tolerance:
        yield [fitted(book, left - throughout.values, (term,), level=amount), throughout]
    nothing = cost_of(book, left, np.zeros(left.shape))
    for count, rough in enumerate(shapes(book, rest, everywhere, found)):
        if count == _CURVES:
            return
        tried = _switch_and_curve(book, left, term, rough)
        # The points in their places mend what is missed by a little, not a curve of something else.
        if together(book, left, tried) < _HOPEFUL * nothing:
            yield _switch_and_curve(book, left, term, polished(rough, rest, everywhere))


def _switch_and_curve(book: Book, left: FloatArray, term: Term, rough: Shape) -> list[Fitted]:
    level, shape = _at_once(book, left, term, rough)
    switch = fitted(book, left - np.nan_to_num(shape.values()), (term,), level=level)
    return [switch, fitted(book, left - switch.values, (), shape=shape)]


def _at_once(book: Book, left: FloatArray, term: Term, shape: Shape) -> tuple[float, Shape]:
    """The amount and the degrees at the points of the curve that suit best together."""
    rows = np.flatnonzero(np.isfinite(left) & np.isfinite(shape.column.values))
    below, share = weights_1d(shape.at, shape.column.values[rows])
    basis, every = np.zeros((rows.size, shape.at.size + 1)), np.arange(rows.size)
    basis[every, below] += 1.0 - share
    basis[every, np.minimum(below + 1, shape.at.size - 1)] += share
    basis[:, -1] = term.holds[rows]
    trust: FloatArray = np.ones(rows.size)
    least = 1e-9 * rows.size * np.eye(shape.at.size + 1)
    solved: FloatArray = np.zeros(shape.at.size + 1)
    for _ in range(_ROUNDS):
        weighed = basis * trust[:, None]
        solved = np.asarray(
            np.linalg.solve(weighed.T @ basis + least, weighed.T @ left[rows]), dtype=np.float64
        )
        trust = 1.0 / np.maximum(1.0, np.abs(left[rows] - basis @ solved) / book.tolerance)
    return float(solved[-1]), Shape(shape.column, shape.at, solved[:-1])
