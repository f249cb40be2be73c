"""A long log thinned for the search: all rows around what changes, one in several elsewhere.

Which conditions part the rows in which something acts from those in which it rests is told by the
rows around its edges; between them, rows a fraction of a second apart say the same. What is found
is then carried out on all rows.
"""

from dataclasses import field, replace
from weakref import WeakKeyDictionary

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.explain.rules.columns import Column, columns_at, whole
from tuneledger.explain.rules.fitted import Fitted, fitted
from tuneledger.explain.rules.ramps import rates
from tuneledger.explain.rules.shape import Shape
from tuneledger.explain.rules.terms import Term
from tuneledger.explain.rules.timers import counted_from
from tuneledger.ledger.book import Book
from tuneledger.logs.model import Channel
from tuneledger.record import record

# A log of more rows than this is thinned, to about so many beside those around the edges.
_LONG, _SPREAD = 30_000, 6_000
# Rows beside an edge tell where it lies; more edges only take time. Judgement.
_BESIDE_ROWS, _MOST_EDGES = 5, 600


@record(eq=False)
class Thinned:
    """A book, what is left over and the channels, in some of a log's rows.

    rows: their numbers, rising
    """

    rows: IntArray
    book: Book
    left: FloatArray
    columns: tuple[Column, ...]
    _whole: dict[Channel, Column] = field(default_factory=dict)

    def whole(self, book: Book, column: Column) -> Column:
        """The same column of the same channel on all rows, read once it is needed."""
        if column.channel not in self._whole:
            self._whole[column.channel] = whole(book, column)
        return self._whole[column.channel]

    def on_all_rows(self, book: Book, left: FloatArray, rule: Fitted) -> Fitted:
        """A rule found in these rows, carried out on all of them."""
        terms = [
            _on_all_rows(term, self.whole(book, term.column), book.times) for term in rule.terms
        ]
        along = rule.shape
        shape = along and Shape(self.whole(book, along.column), along.at, along.deg)
        steady = rates(book, left, rule.level or 0.0) if rule.ramp is not None else None
        own = sum(term.price for term in rule.terms)
        out = fitted(book, left, terms, level=rule.level, shape=shape, steady=steady)
        # A release is paid for beside the conditions themselves.
        extra = rule.price - own - (out.price - sum(term.price for term in terms))
        return replace(out, price=out.price + extra, cost=out.cost + extra)


# Several finders search the same rows; forgotten as soon as nobody holds the book.
_LAST: WeakKeyDictionary[Book, tuple[bytes, Thinned]] = WeakKeyDictionary()


def thinned(book: Book, left: FloatArray) -> Thinned | None:
    """The rows to search in; None where the log is short enough to be searched whole."""
    if left.size <= _LONG:
        return None
    key = left.tobytes()
    if book not in _LAST or _LAST[book][0] != key:
        _LAST[book] = key, _thinned(book, left)
    return _LAST[book][1]


def _thinned(book: Book, left: FloatArray) -> Thinned:
    every = left.size // _SPREAD
    kept = _around(_edges(book, left), left.size)
    kept[::every] = True
    kept[-1] = True
    rows = np.flatnonzero(kept)
    # Each row stands for those that were left out behind it.
    worth = np.diff(np.append(rows, left.size)).astype(np.float64)
    return Thinned(
        rows,
        replace(book, times=book.times[rows], slack=book.slack[rows], worth=worth),
        left[rows],
        tuple(columns_at(book, rows)),
    )


def _edges(book: Book, left: FloatArray) -> IntArray:
    """Rows at which what is left over comes, goes or changes; evenly chosen where many do."""
    rows = np.flatnonzero(np.isfinite(left))
    here = left[rows]
    busy = np.abs(here) > (book.tolerance + book.slack)[rows]
    changes = (busy[1:] != busy[:-1]) | (np.abs(np.diff(here)) > 2.0 * book.tolerance)
    found = rows[1:][changes]
    if found.size > _MOST_EDGES:
        found = found[np.linspace(0, found.size - 1, _MOST_EDGES).astype(np.int64)]
    return np.asarray(found, dtype=np.int64)


def _around(edges: IntArray, size: int) -> BoolArray:
    out = np.zeros(size, dtype=np.bool_)
    for shift in range(-_BESIDE_ROWS, _BESIDE_ROWS + 1):
        at = edges + shift
        out[at[(at >= 0) & (at < size)]] = True
    return out


def _on_all_rows(term: Term, column: Column, times: FloatArray) -> Term:
    if term.timer is None or term.event is None:
        return replace(term, column=column, number=column.values)
    number = counted_from(term.event.holds(column.values), term.timer, times)
    return replace(term, column=column, number=number)
