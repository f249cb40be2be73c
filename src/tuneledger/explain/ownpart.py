"""What one cylinder alone is given, where the log carries it: a knock retard of its own, a trim."""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.leftover.carried import carriers
from tuneledger.explain.model import Curve, Rule
from tuneledger.ledger.book import Book
from tuneledger.ledger.tolerance import local_change
from tuneledger.record import record

# A cylinder that stands off by one number all through is carried by nothing that happens to be near
# it: so far it has to move, in tolerances.
_MOVES = 4.0
# As of what carries delivered's own difference: so many of the rows come out where it acts, and so
# many where it rests.
_RIGHT_SHARE, _SILENT_SHARE = 0.93, 0.97


@record
class OwnPart:
    """The channel that carries it, and with which sign."""

    channel: str
    sign: int
    least: float
    most: float

    @property
    def rule(self) -> Rule:
        """It posts what the channel reads, or that with its sign turned."""
        at = (self.least, self.most)
        return Rule((), None, Curve(self.channel, at, (self.sign * at[0], self.sign * at[1])))


def own_part(book: Book, cylinder: str, off: FloatArray, rows: BoolArray) -> OwnPart | None:
    """The channel that moves as a cylinder's advance stands off delivered; None where none does.

    off: degrees off delivered per row, as logged; rows: where it stands off
    """
    known = book.judged & np.isfinite(off)
    rests = known & ~rows
    if np.ptp(off[known]) < _MOVES * book.tolerance:
        return None
    for channel, numbers in carriers(book):
        if channel.name == cylinder or np.ptp(numbers[known & np.isfinite(numbers)]) <= 0:
            continue
        bound = 2.0 * book.tolerance + local_change(numbers, reach=2)
        for sign in (1, -1):
            right = np.abs(off - sign * numbers) <= bound
            comes_out = right[rows].mean() >= _RIGHT_SHARE
            if comes_out and (not rests.any() or right[rests].mean() >= _SILENT_SHARE):
                seen = numbers[known & np.isfinite(numbers)]
                return OwnPart(channel.name, sign, float(seen.min()), float(seen.max()))
    return None
