"""Smoothing that scheduled alone does not show: it acts on the sum of all that is asked for.

Where corrections come and go by degrees, scheduled smoothed is not what delivered is; what a sheet
makes of it, smoothed, may be.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.explain.sheets import LaidSheet
from tuneledger.explain.sheetsums import sums
from tuneledger.ledger.book import Book
from tuneledger.ledger.farlag import Unrest
from tuneledger.ledger.lag import Lag
from tuneledger.ledger.smoothed import Smoothing, find_smoothing
from tuneledger.logs.steps import quantisation_step

# Degrees of to and fro over 0.1 s, on average: below that, edges of corrections make as much.
_RESTLESS_DEG = 0.1
# With a smaller share of rows that hold a sample, the course between them is the logger's.
_EVERY_ROW = 0.95


def smoothed_sum(book: Book, laid: Sequence[LaidSheet]) -> Smoothing | None:
    """How delivered was smoothed, where what a sheet makes of scheduled shows it; else None."""
    sparse = book.start_own is not None or book.own.mean() < _EVERY_ROW
    if book.smoothing is not None or sparse or book.row_s <= 0:
        return None
    steps = quantisation_step(book.start), quantisation_step(book.delivered)
    driven = book.judged & ~book.regimes.closed  # a governor at idle is restless by itself
    apart = np.where(driven, book.delivered - book.start, np.nan)
    if not Unrest(steps, book.row_s).of(apart) > _RESTLESS_DEG:
        return None
    lag = Lag(0.0, sure=book.lag.sure)
    for total in sums(book, laid):
        found = find_smoothing(total, book.delivered, lag, steps, book.row_s)
        if found is not None:
            return found
    return None
