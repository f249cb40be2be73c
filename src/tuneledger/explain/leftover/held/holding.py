"""Which rows tell of a held advance, and which speak against it."""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.model import Hold
from tuneledger.ledger.book import Book
from tuneledger.record import record

# Nearly all of the rows at a level lie on the side that a highest or a lowest advance speaks of.
_ONE_SIDE = 0.97


@record(eq=False)
class Telling:
    """Rows of a log that tell whether the advance is held; those in none of them say nothing.

    acts:    what was asked for lies beyond the number, and delivered stands at it
    rests:   it lies beyond, and delivered goes beyond as well
    follows: it lies within the number, and delivered follows it: what a fixed advance would not do
    """

    acts: BoolArray
    rests: BoolArray
    follows: BoolArray


def hold_of(book: Book, asked: FloatArray, level: float) -> Hold:
    """What would hold delivered at that number: which of the three, by where asked lies then."""
    at = book.judged & (np.abs(book.delivered - level) <= book.tolerance)
    off = (asked - level)[at & (np.abs(asked - level) > (book.tolerance + book.slack))]
    above = float((off > 0).mean()) if off.size else 0.5
    if above >= _ONE_SIDE:
        return Hold("at most", level)
    return Hold("at least" if above <= 1.0 - _ONE_SIDE else "replace", level)


def telling(book: Book, asked: FloatArray, hold: Hold) -> Telling:
    """Which rows speak for a hold and which against it.

    asked: degrees per row that would be delivered without it, NaN where not known
    """
    bound = book.tolerance + book.slack
    known = book.judged & np.isfinite(asked)
    over, past = asked - hold.degrees, book.delivered - hold.degrees
    if hold.effect == "replace":
        over, past = np.abs(over), np.abs(past)
    elif hold.effect == "at least":
        over, past = -over, -past
    beyond = known & (over > bound)
    at = np.abs(book.delivered - hold.degrees) <= book.tolerance
    within = known & (over < -bound) & (np.abs(book.delivered - asked) <= bound)
    return Telling(beyond & at, beyond & ~at & (past > bound), within)


def values(hold: Hold, asked: FloatArray, on: BoolArray) -> FloatArray:
    """What it takes or adds per row, degrees, beside what was asked for."""
    gap = np.nan_to_num(hold.degrees - asked)
    if hold.effect == "at most":
        gap = np.minimum(gap, 0.0)
    elif hold.effect == "at least":
        gap = np.maximum(gap, 0.0)
    return np.where(on, gap, 0.0)
