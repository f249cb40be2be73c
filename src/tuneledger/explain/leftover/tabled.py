"""Another table in place of the map: while a switch is on, delivered follows one channel.

A mode or a second fuel may bring a map of its own. Beside scheduled that looks like nothing: what
is missing goes along with whatever scheduled goes along with. But delivered itself, or what of it
the other corrections leave, then lies on one line along one channel. A table over two axes
is told in `twoaxes`.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.account import Account
from tuneledger.explain.cost import left_over
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Point
from tuneledger.explain.offer import posted
from tuneledger.explain.rules.columns import ODD, Column, columns
from tuneledger.explain.rules.curves import polished, shapes
from tuneledger.explain.rules.fitted import Fitted, fitted
from tuneledger.explain.rules.rivals import share_of_right, tied
from tuneledger.explain.rules.shape import Shape
from tuneledger.explain.rules.sure import certainty
from tuneledger.explain.rules.terms import Term
from tuneledger.explain.rules.thin import thinned
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import rows_of
from tuneledger.phrases import acting
from tuneledger.record import record
from tuneledger.wording import degrees, number, quantity, share

# For less than this, or in fewer rows, a line along some channel can be found for anything.
_LEAST_S, _LEAST_ROWS = 3.0, 40
# While the switch is on something is left over so often, and otherwise seldom.
_BUSY, _OF_ALL, _ELSEWHERE = 0.7, 0.7, 0.3
# So many of the rows lie on the line, before it is polished and after; it moves by so many
# tolerances, and is no number.
_ROUGHLY, _RIGHT_SHARE, _MOVES = 0.6, 0.9, 4.0
# More conditions beside a table fit anything: judgement.
_MOST_SWITCHES = 2
_EFFECT, _LEAST_GAIN = 2.0, 10.0
# What maps read: common practice, no source. Nats for any other channel.
_AXES = (
    "engine speed",
    "manifold absolute pressure",
    "engine load",
    "throttle position",
    "air flow",
)
_NO_AXIS = 5.0


@record(eq=False)
class _Way:
    """What delivered is held against: alone, or with what the other corrections post."""

    target: FloatArray
    alone: bool


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The table that sets the advance while a switch is on, if there is one along one channel."""
    busy = rows_of(account.runs, account.left.size) & np.isfinite(account.left)
    if busy.sum() < _LEAST_ROWS or busy.sum() * book.row_s < _LEAST_S:
        return ()
    before, best, gain = left_over(book, account), None, _LEAST_GAIN
    for way in _ways(book, account):
        tried = sorted(_tables(book, way, account, busy), key=lambda one: one.cost)
        for one in tried[:1]:
            extra = _extra(book, way, one, tried[1:])
            saved = before - left_over(book, posted(book, account, extra)) - extra.price
            if saved > gain:
                best, gain = extra, saved
    return () if best is None else (best,)


def _ways(book: Book, account: Account) -> Iterator[_Way]:
    """A table in place of the map and of all else; or of the map alone, with all else beside it."""
    beside = (book.delivered - account.left) - book.start
    yield _Way(np.where(book.judged, book.delivered, np.nan), alone=True)
    if (np.abs(np.nan_to_num(beside)) > book.tolerance).any():
        yield _Way(np.where(book.judged, book.delivered - beside, np.nan), alone=False)


def _tables(book: Book, way: _Way, account: Account, busy: BoolArray) -> Iterator[Fitted]:
    """Lines along one channel while a switch stands one way, each with nearly all rows on it."""
    part = thinned(book, account.left)
    if part is None:
        found = [c for c in columns(book) if c.price < ODD]
        yield from _lines(book, way.target, busy, found)
        return
    found = [c for c in part.columns if c.price < ODD]
    for one in _lines(part.book, way.target[part.rows], busy[part.rows], found):
        on = part.whole(book, one.terms[0].column).values == one.terms[0].limit
        yield part.on_all_rows(book, np.where(on, way.target, np.nan), one)


def _lines(
    book: Book, target: FloatArray, busy: BoolArray, found: Sequence[Column]
) -> Iterator[Fitted]:
    """The same, in the rows in which the channels are at hand."""
    for term in switches(target, busy, found):
        here = np.where(term.holds, target, np.nan)
        for rough in shapes(book, here, term.holds, found):
            if _right(book, here, rough) < _ROUGHLY:
                break  # the shapes come in the order in which a line along them may fit
            shape = polished(rough, here, term.holds)
            if _moves(book, shape, term.holds) and _right(book, here, shape) >= _RIGHT_SHARE:
                yield _priced(book, fitted(book, here, (term,), shape=shape))


def _priced(book: Book, one: Fitted) -> Fitted:
    """The same, longer where it reads what maps hardly ever read."""
    axes = [role.channel for name in _AXES if (role := book.roles.get(name)) is not None]
    extra = 0.0 if one.shape is not None and one.shape.column.channel in axes else _NO_AXIS
    return replace(one, price=one.price + extra, cost=one.cost + extra)


def switches(target: FloatArray, busy: BoolArray, found: Sequence[Column]) -> list[Term]:
    """States of switches in which something is left over nearly always, and hardly else."""
    known = np.isfinite(target)
    rated = []
    for column in found:
        for state in column.levels:
            on = known & (column.values == state)
            off = known & ~on
            if not on.any() or not off.any():
                continue
            inside, outside = float(busy[on].mean()), float(busy[off].mean())
            most = busy[on].sum() >= _OF_ALL * busy[known].sum()
            if inside >= _BUSY and outside <= _ELSEWHERE and most:
                term = Term(column, column.values, 0, state, column.price)
                rated.append((inside - outside, term))
    rated.sort(key=lambda one: -one[0])
    return [term for _, term in rated[:_MOST_SWITCHES]]


def _moves(book: Book, shape: Shape, on: BoolArray) -> bool:
    values = shape.values()[on]
    return float(np.nanmax(values) - np.nanmin(values)) >= _MOVES * book.tolerance


def _right(book: Book, target: FloatArray, shape: Shape) -> float:
    """The share of the rows that lie on the line, within what the log resolves."""
    known = np.isfinite(target) & np.isfinite(shape.column.values)
    bound = book.tolerance + book.slack + shape.resolution()
    off = np.abs(target - shape.values())[known]
    return float((off <= bound[known]).mean()) if known.any() else 0.0


def _extra(book: Book, way: _Way, best: Fitted, others: Sequence[Fitted]) -> Extra:
    shape, (term,) = best.shape, best.terms
    assert shape is not None
    target = np.where(term.holds, way.target, np.nan)
    on = term.holds & np.isfinite(way.target)
    values = np.where(on, np.nan_to_num(best.values - book.start), 0.0)
    ties = tied(best, others)
    units = {term.column.name: term.column.channel.unit}
    when = acting([term.written()], units)
    name, unit = shape.column.name, shape.column.channel.unit
    at = f"{number(shape.told()[0])} to {quantity(shape.told()[-1], unit)}"
    low, high = (degrees(float(x), signed=False) for x in (shape.deg[0], shape.deg[-1]))
    line = f"{low} to {high} as {name} goes from {at}"
    rounding = shape.resolution()
    return Extra(
        kind="replacement",
        rows=on & (np.abs(values) > book.tolerance),
        certainty=certainty(book, target, best, share_of_right(best, ties)),
        price=best.price + _EFFECT,
        entry="",
        values=values,
        leeway=(np.where(on, rounding, 0.0), np.where(on, rounding, 0.0)),
        points=(
            Point(
                "for",
                f"delivered lies on one line along {name} {when}, in "
                f"{share(_right(book, target, shape))} of the samples",
                name,
            ),
            *(
                Point("against", f"along {one.shape.column.name} it does so nearly as well")
                for one in ties
                if one.shape is not None and one.shape.column is not shape.column
            ),
        ),
        name=f"another table in place of the map, {line} {when},",
        alone=way.alone,
        table=True,
    )
