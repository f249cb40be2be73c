"""Delivered never moves in the whole log, while what was asked for does.

Its channel may be stuck, or not be what it is named; a fixed advance for a timing-light check looks
the same. Nothing else may be read out of such a channel, least of all a map or a rule.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.explain.account import Account
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import STILL, Point
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.wording import degrees

# Less shows nothing of a whole run: judgement.
_LEAST_S = 1.0
_FEWEST_ROWS = 20  # however long they took: judgement
# Between the 5th and the 95th percentile of what was asked for.
_MOVED_DEG = 3.0
# As likely the channel as the ECU: common sense, no source.
_CERTAINTY = 0.5
# Dearer than a correction of a sheet that was switched on: that says why delivered stands still.
_PRICE = 12.0


def never_moves(book: Book) -> bool:
    """Whether delivered stands at one number, and what was asked for moves by degrees."""
    judged = book.judged
    if judged.sum() < _FEWEST_ROWS or judged.sum() * book.row_s < _LEAST_S:
        return False
    low, high = np.percentile(book.start[judged], [5.0, 95.0])
    return bool(np.ptp(book.delivered[judged]) <= book.tolerance and high - low >= _MOVED_DEG)


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """All that is left over, where delivered never moves."""
    if not account.runs or not never_moves(book):
        return ()
    stands = degrees(float(np.median(book.delivered[book.judged])), signed=False)
    moves = degrees(float(np.ptp(book.start[book.judged])), signed=False)
    return (
        Extra(
            kind="replacement",
            rows=np.isfinite(account.left),
            certainty=_CERTAINTY,
            price=_PRICE,
            entry=STILL,
            values=np.nan_to_num(account.left),
            points=(
                Point("for", f"delivered stands at {stands} in every sample"),
                Point("against", f"an ECU that is asked for {moves} more or less moves it"),
            ),
            name=f"delivered stands at {stands} in every sample, while what was asked for moves by "
            f"{moves}",
        ),
    )
