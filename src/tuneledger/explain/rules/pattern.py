"""Where something acts: what is left over, split into rows of one level, of none, and the rest."""

from functools import cached_property

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.ledger.book import Book
from tuneledger.ledger.tolerance import local_change
from tuneledger.record import record

# A level has to hold for this share of all rows that are off, or nothing can be learnt from it.
_LEAST_SHARE = 0.12
_LEAST_ROWS = 3  # fewer are the noise of one sample
_MOST_LEVELS = 3  # judgement
# Judged rows between the last of one state and the first of the other, at a turn.
_WIDEST_EDGE = 12


@record(eq=False)
class Pattern:
    """Rows in which a rule acts, rows in which it does not, and rows that say nothing.

    acts, rests: disjoint; rows in neither are edges, other levels, or not judged
    level:       degrees where it acts, or None where they vary
    first, last: rows beside an edge, in which it acts and in which it rests: which side of a
                 threshold they belong to is a matter of lag
    """

    acts: BoolArray
    rests: BoolArray
    level: float | None
    first: BoolArray
    last: BoolArray

    @cached_property
    def edges(self) -> IntArray:
        """Rows at which it starts or stops, each the first row of the new state."""
        known = np.flatnonzero(self.acts | self.rests)
        state = self.acts[known]
        changed: IntArray = known[1:][state[1:] != state[:-1]].astype(np.int64)
        return changed

    @cached_property
    def starts(self) -> tuple[IntArray, IntArray]:
        """Per start, the last row in which it rests and the first in which it acts."""
        return self._turns(to=True)

    @cached_property
    def stops(self) -> tuple[IntArray, IntArray]:
        """Per stop, the last row in which it acts and the first in which it rests."""
        return self._turns(to=False)

    def _turns(self, *, to: bool) -> tuple[IntArray, IntArray]:
        known = np.flatnonzero(self.acts | self.rests)
        state = self.acts[known]
        at = np.flatnonzero((state[1:] != state[:-1]) & (state[1:] == to))
        # What lies between is an edge of a few rows, or another level: that is no turn.
        usual = float(np.median(np.diff(known))) if known.size > 1 else 1.0
        at = at[known[at + 1] - known[at] <= _WIDEST_EDGE * usual]
        return known[at].astype(np.int64), known[at + 1].astype(np.int64)


def busy_pattern(book: Book, left: FloatArray) -> Pattern | None:
    """All rows that are off against all that are not, whatever the degrees."""
    rows = np.flatnonzero(np.isfinite(left))
    size = np.abs(left[rows])
    limit = (book.tolerance + book.slack)[rows]
    acts, rests = size > limit, size <= np.minimum(limit, book.tolerance)
    pattern = _pattern(rows, acts, rests, left.size, None)
    return pattern if pattern.acts.sum() >= _LEAST_ROWS else None


def levels(book: Book, left: FloatArray) -> list[Pattern]:
    """The levels at which what is left over stands, the one that lasts longest first.

    Only judged rows are looked at, one after another: a slow channel has none in between.
    """
    rows = np.flatnonzero(np.isfinite(left))
    here, limit = left[rows], (book.tolerance + book.slack)[rows]
    # Rows in which the left-over itself moves are on their way from one level to another.
    still = local_change(here) <= 2 * book.tolerance
    busy = np.abs(here) > limit
    remaining = still & busy
    least = max(_LEAST_ROWS, _LEAST_SHARE * int(busy.sum()))
    stands: list[float] = []
    for _ in range(_MOST_LEVELS):
        if remaining.sum() < least:
            break
        level = mode(here[remaining], book.tolerance)
        of_it = remaining & (np.abs(here - level) <= book.tolerance)
        if of_it.sum() < least:
            break
        stands.append(float(np.median(here[of_it])))
        remaining &= np.abs(here - stands[-1]) > 1.5 * book.tolerance
    # What lies between two of them, or between one and nothing, is of the nearer one.
    from_each = np.abs(here - np.array([0.0, *stands])[:, None])
    nearest = from_each.argmin(axis=0)
    out: list[Pattern] = []
    for number, level in enumerate(stands, start=1):
        within = from_each[number] <= limit
        pattern = _pattern(rows, within & (nearest == number), ~busy & ~within, left.size, level)
        if pattern.acts.sum() >= _LEAST_ROWS:
            out.append(pattern)
    return out


def _pattern(
    rows: IntArray, acts: BoolArray, rests: BoolArray, size: int, level: float | None
) -> Pattern:
    """A pattern over all rows, with those beside a change apart: their side is a matter of lag."""
    by_acts, by_rests = _beside(acts), _beside(rests)
    parts = (acts & ~by_rests, rests & ~by_acts, acts & by_rests, rests & by_acts)
    full = [np.zeros(size, dtype=np.bool_) for _ in parts]
    for mask, part in zip(full, parts, strict=True):
        mask[rows[part]] = True
    return Pattern(full[0], full[1], level, full[2], full[3])


def mode(values: FloatArray, width: float) -> float:
    """The middle of the window of that width which holds the most values."""
    ordered = np.sort(values)
    last = np.searchsorted(ordered, ordered + width, side="right")
    first = int(np.argmax(last - np.arange(ordered.size)))
    return float(np.median(ordered[first : last[first]]))


def _beside(mask: BoolArray) -> BoolArray:
    near = np.zeros_like(mask)
    near[1:] |= mask[:-1]
    near[:-1] |= mask[1:]
    return near
