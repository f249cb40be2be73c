"""Channels that change just where something starts or stops: the trail for whoever looks on."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray, IntArray, each_once
from tuneledger.explain.rules.columns import Column, columns
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import Run

_REACH = 4  # rows on either side: a change takes a few: judgement
_MOST_EDGES = 40  # evenly chosen: more only take time, judgement
_LEAST_SHARE = 0.5  # of the edges, at which it has to stand out: judgement
# A change counts where it is so many times what the channel does elsewhere in the same time.
_STANDS_OUT = 4.0
_MOST_NAMED = 3  # as many as a sentence bears


def changed_at(book: Book, runs: Sequence[Run]) -> tuple[str, ...]:
    """Names of at most three channels that change at most edges of the runs, surest first."""
    edges = _edges(runs, book.times.size)
    if edges.size == 0:
        return ()
    scored = [(share, -column.price, column.name) for column, share in _scored(book, edges)]
    return tuple(name for _, _, name in sorted(scored, reverse=True)[:_MOST_NAMED])


def _edges(runs: Sequence[Run], rows: int) -> IntArray:
    at = np.array([row for first, last in runs for row in (first, last + 1)], dtype=np.int64)
    at = each_once(at[(at >= _REACH) & (at < rows - _REACH)])
    if at.size > _MOST_EDGES:
        at = at[np.linspace(0, at.size - 1, _MOST_EDGES).astype(np.int64)]
    return np.asarray(at, dtype=np.int64)


def _scored(book: Book, edges: IntArray) -> Iterator[tuple[Column, float]]:
    for column in columns(book):
        here = _change(column.values, edges)
        if column.levels:
            share = float((here > 0).mean())
        else:
            usual = np.arange(_REACH, column.values.size - _REACH, 7, dtype=np.int64)
            ordinary = _change(column.values, usual)
            known = ordinary[np.isfinite(ordinary)]
            bar = _STANDS_OUT * float(np.median(known)) if known.size else np.inf
            share = float((here > max(bar, 1e-9)).mean())
        if share >= _LEAST_SHARE:
            yield column, share


def _change(values: FloatArray, rows: IntArray) -> FloatArray:
    """How far a channel moves across a row, between a little before and a little after."""
    return np.abs(values[np.minimum(rows + _REACH, values.size - 1)] - values[rows - _REACH])
