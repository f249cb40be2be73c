"""A fixed advance left on: delivered stands still while scheduled moves.

It is switched on for a timing-light check, so that the crank can be compared with one number, and
forgotten. A limit stands still too, but only where scheduled is beyond it.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain.account import Account
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Point
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import merged, rows_of, true_runs
from tuneledger.wording import degrees

_LEAST_S = 1.0
_STILL_SHARE = 0.95  # of the rows: all but the edges
_MOVED_DEG = 3.0  # so far what was asked for has to move meanwhile: judgement
# Nats for the number, and for each moment at which it was switched, which no channel tells.
_PRICE, _PER_SWITCHING = 8.0, 3.0


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """One fixed advance that accounts for stretches in which scheduled lies on both sides of it,
    or moves by degrees beside it."""
    busy = rows_of(account.runs, account.left.size) & np.isfinite(account.left)
    if busy.sum() * book.row_s < _LEAST_S:
        return ()
    delivered, start = book.delivered[busy], book.start[busy]
    fixed = float(np.median(delivered))
    still = np.abs(delivered - fixed) <= book.tolerance
    if still.mean() < _STILL_SHARE or np.ptp(start[still]) < _MOVED_DEG:
        return ()
    both_sides = (start < fixed - book.tolerance).any() and (start > fixed + book.tolerance).any()
    first, last = np.flatnonzero(busy)[[0, -1]]
    through = np.zeros(busy.shape, dtype=np.bool_)
    through[first : last + 1] = True
    through &= np.abs(book.delivered - fixed) <= book.tolerance
    if not both_sides and through[first : last + 1].mean() < _STILL_SHARE:
        return ()  # held on one side only, and not throughout: a limit or a rule does that
    values = np.where(through & np.isfinite(account.left), fixed - book.start, 0.0)
    return (
        Extra(
            kind="replacement",
            rows=through,
            certainty=0.92,
            price=_PRICE + _PER_SWITCHING * _switchings(book, through),
            entry="",
            values=np.nan_to_num(values),
            alone=True,
            points=(
                Point(
                    "for",
                    f"delivered stands at {degrees(fixed, signed=False)} while scheduled moves by "
                    f"{degrees(float(np.ptp(start[still])), signed=False)}",
                ),
            ),
            name=f"a fixed advance of {degrees(fixed, signed=False)}",
        ),
    )


def _switchings(book: Book, on: BoolArray) -> int:
    """How often it went on or off within the log."""
    known = np.flatnonzero(book.judged)
    runs = merged(true_runs(on[known]), book.times[known], book.row_s)
    return sum((a > 0) + (b < known.size - 1) for a, b in runs)
