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
    size = np.abs(left)
    limit = book.tolerance + book.slack
    acts = np.isfinite(left) & (size > limit)
    rests = np.isfinite(left) & (size <= np.minimum(limit, book.tolerance))
    acts, rests = _without_edges(acts, rests)
    return Pattern(acts, rests, None) if acts.sum() >= _LEAST_ROWS else None


def levels(book: Book, left: FloatArray) -> list[Pattern]:
    """The levels at which what is left over stands, the one that lasts longest first."""
    known = np.isfinite(left)
    limit = book.tolerance + book.slack
    # Rows in which the left-over itself moves are on their way from one level to another.
    still = known & (local_change(np.nan_to_num(left)) <= 2 * book.tolerance)
    off = still & (np.abs(left) > limit)
    total = int((known & (np.abs(left) > limit)).sum())
    rests = known & (np.abs(left) <= limit)
    out: list[Pattern] = []
    remaining = off.copy()
    for _ in range(_MOST_LEVELS):
        if remaining.sum() < max(_LEAST_ROWS, _LEAST_SHARE * total):
            break
        level = _mode(left[remaining], book.tolerance)
        here = known & (np.abs(left - level) <= book.tolerance)
        count = int((here & remaining).sum())
        if count < max(_LEAST_ROWS, _LEAST_SHARE * total):
            break
        level = float(np.median(left[here & remaining]))
        acts = known & (np.abs(left - level) <= limit) & (np.abs(left) > np.abs(left - level))
        out.append(Pattern(*_without_edges(acts, rests & ~acts), level))
        remaining &= np.abs(left - level) > 1.5 * book.tolerance
    return out


def _mode(values: FloatArray, width: float) -> float:
    """The middle of the window of that width which holds the most values."""
    ordered = np.sort(values)
    last = np.searchsorted(ordered, ordered + width, side="right")
    first = int(np.argmax(last - np.arange(ordered.size)))
    return float(np.median(ordered[first : last[first]]))


def _without_edges(acts: BoolArray, rests: BoolArray) -> tuple[BoolArray, BoolArray]:
    """Both without the rows beside a change: which side those fall on is a matter of lag."""
    return acts & ~_beside(rests), rests & ~_beside(acts)


def _beside(mask: BoolArray) -> BoolArray:
    near = np.zeros_like(mask)
    near[1:] |= mask[:-1]
    near[:-1] |= mask[1:]
    return near
