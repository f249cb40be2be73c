"""Where something acts: what is left over, split into rows of one level, of none, and the rest."""

from dataclasses import dataclass

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.ledger.book import Book
from tuneledger.ledger.tolerance import local_change

# A level has to hold for this share of all rows that are off, or nothing can be learnt from it.
_LEAST_SHARE = 0.12
_LEAST_ROWS = 4
_MOST_LEVELS = 3


@dataclass(frozen=True, eq=False)
class Pattern:
    """Rows in which a rule acts, rows in which it does not, and rows that say nothing.

    acts, rests: disjoint; rows in neither are edges, other levels, or not judged
    level:       degrees where it acts, or None where they vary
    """

    acts: BoolArray
    rests: BoolArray
    level: float | None

    @property
    def edges(self) -> IntArray:
        """Rows at which it starts or stops, each the first row of the new state."""
        known = np.flatnonzero(self.acts | self.rests)
        state = self.acts[known]
        changed: IntArray = known[1:][state[1:] != state[:-1]].astype(np.int64)
        return changed


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
    out: list[Pattern] = []
    for _ in range(_MOST_LEVELS):
        if remaining.sum() < least:
            break
        level = _mode(here[remaining], book.tolerance)
        of_it = remaining & (np.abs(here - level) <= book.tolerance)
        if of_it.sum() < least:
            break
        level = float(np.median(here[of_it]))
        acts = (np.abs(here - level) <= limit) & (np.abs(here) > np.abs(here - level))
        pattern = _pattern(rows, acts, ~busy & ~acts, left.size, level)
        if pattern.acts.sum() >= _LEAST_ROWS:
            out.append(pattern)
        remaining &= np.abs(here - level) > 1.5 * book.tolerance
    return out


def _pattern(
    rows: IntArray, acts: BoolArray, rests: BoolArray, size: int, level: float | None
) -> Pattern:
    """A pattern over all rows, without those beside a change: their side is a matter of lag."""
    calm_acts, calm_rests = acts & ~_beside(rests), rests & ~_beside(acts)
    full_acts, full_rests = np.zeros(size, dtype=np.bool_), np.zeros(size, dtype=np.bool_)
    full_acts[rows[calm_acts]] = True
    full_rests[rows[calm_rests]] = True
    return Pattern(full_acts, full_rests, level)


def _mode(values: FloatArray, width: float) -> float:
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
