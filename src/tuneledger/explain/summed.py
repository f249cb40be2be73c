"""What is left of delivered once some parts are carried out, and once one of them is otherwise.

The question is asked for each doubt of each departure from a sheet of many corrections. So what
posts nothing is left out, and where all the others add, they stand as the rows of one array.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.calibrations.model import Limits
from tuneledger.evaluate.model import Contribution
from tuneledger.evaluate.replay import combine
from tuneledger.explain.sheets import solid
from tuneledger.ledger.book import Book


class Summed:
    """Parts over a book. `doubted`: indexes of those that may be put otherwise."""

    def __init__(
        self,
        book: Book,
        start: FloatArray,
        parts: Sequence[Contribution],
        limits: Limits | None,
        doubted: Collection[int],
    ) -> None:
        self._book, self._start, self._limits = book, start, limits
        kept = [n for n, part in enumerate(parts) if n in doubted or not part.posts_nothing]
        self._place = {n: place for place, n in enumerate(kept)}
        self._parts = [solid(parts[n]) for n in kept]
        adds = all(part.effect == "add" for part in self._parts)
        self._rows = np.array([part.values for part in self._parts]) if adds else None
        self._now: FloatArray | None = None

    def now(self) -> FloatArray:
        """Degrees left in every row; NaN where one cannot be judged."""
        if self._now is None:
            every = slice(None)
            if self._rows is None:
                self._now = self._left(self._parts, every)
            else:
                self._now = self._left([_sum(self._parts[0], self._rows)], every)
        return self._now

    def otherwise(self, index: int, part: Contribution, rows: IntArray) -> FloatArray:
        """The same in some rows, with another part in the place of the one of that index."""
        place, part = self._place[index], solid(_in_rows(part, rows))
        if self._rows is None:
            others = [_in_rows(one, rows) for one in self._parts]
            return self._left([*others[:place], part, *others[place + 1 :]], rows)
        values = self._rows[:, rows]
        values[place] = part.values
        return self._left([_sum(part, values)], rows)

    def put(self, index: int, part: Contribution) -> None:
        """From now on this is the part of that index."""
        place = self._place[index]
        self._parts[place], self._now = solid(part), None
        if self._rows is not None:
            self._rows[place] = self._parts[place].values

    def _left(self, parts: Sequence[Contribution], rows: IntArray | slice) -> FloatArray:
        gives = combine(self._start[rows], parts, self._limits).delivered
        left = self._book.delivered[rows] - gives
        return np.where(self._book.judged[rows], left, np.nan)


def _sum(like: Contribution, values: FloatArray) -> Contribution:
    """One part that adds what all the rows do, summed in their order as a ledger sums them."""
    return replace(like, values=np.add.accumulate(values, axis=0)[-1])


def _in_rows(part: Contribution, rows: IntArray) -> Contribution:
    return replace(
        part,
        values=part.values[rows],
        active=part.active[rows],
        computable=part.computable[rows],
        weight=part.weight[rows],
        known=None if part.known is None else part.known[rows],
    )
