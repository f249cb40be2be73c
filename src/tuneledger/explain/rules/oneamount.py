"""Several rules that all post the same amount: most likely one thing that the log does not hold.

An ECU has few numbers. Where it took 4.0° now under these conditions and then under those, one
correction did both, and what it followed is neither of the two.
"""

from collections.abc import Sequence
from dataclasses import replace

from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Point
from tuneledger.ledger.book import Book

# How near two amounts are the same, as a share of the tolerance.
_SAME = 0.5
# So sure at most is each of them: among the rules read out of made cases that log what was followed
# no two had one amount; of 18 such sets read out of those that do not (kind M) one was so.
_MOST = 0.4
_SAYS = "another rule takes the same degrees: both may be one thing that the log does not hold"


def doubted(book: Book, extras: Sequence[Extra]) -> tuple[Extra, ...]:
    """The rules of one log, those with one amount less sure, and told why."""
    near = _SAME * book.tolerance
    return tuple(
        _less_sure(one)
        if any(other is not one and _same(one, other, near) for other in extras)
        else one
        for one in extras
    )


def _same(one: Extra, other: Extra, near: float) -> bool:
    mine = one.rule.amount_deg if one.rule is not None else None
    theirs = other.rule.amount_deg if other.rule is not None else None
    return mine is not None and theirs is not None and abs(mine - theirs) <= near


def _less_sure(one: Extra) -> Extra:
    points = (*one.points, Point("against", _SAYS))
    return replace(one, certainty=min(one.certainty, _MOST), points=points)
