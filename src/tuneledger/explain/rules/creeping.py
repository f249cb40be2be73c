"""A curve along a channel that creeps one way through a log: it cannot be told from time.

Whatever else creeps fits as well, logged or not, and much of what an ECU reads is not. What speaks
for one channel is then only that an ECU corrects by such a thing. It does so by the temperatures of
coolant and air nearly always, now and then by those of oil or fuel (common practice, no source);
where the log lacks the coolant's, that is suspected before those.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.explain.leftover.model import SUSPECTED, Extra
from tuneledger.explain.model import Point
from tuneledger.explain.rules.passes import creeps
from tuneledger.ledger.book import Book

_COOLANT = "engine coolant temperature"
_MOSTLY, _SELDOM = (_COOLANT, "intake air temperature"), ("oil temperature", "fuel temperature")


def doubted(book: Book, extras: Sequence[Extra]) -> tuple[Extra, ...]:
    """The rules of one log, curves along what may only have crept meanwhile as suspicions."""
    return tuple(
        _less_sure(one, why) if one.certainty > SUSPECTED and (why := _doubt(book, one)) else one
        for one in extras
    )


def _doubt(book: Book, extra: Extra) -> str:
    """Why a curve may be along the wrong channel; empty where nothing says so."""
    along = extra.rule.along if extra.rule is not None else None
    number = book.inputs.channel(along.channel, None) if along is not None else None
    if along is None or number is None or not creeps(np.where(book.judged, number, np.nan)):
        return ""
    signal = next(
        (s for s, role in book.roles.by_signal.items() if role.channel.name == along.channel), ""
    )
    if signal in _MOSTLY or (signal in _SELDOM and book.roles.get(_COOLANT) is not None):
        return ""
    crept = f"{along.channel} only crept one way through this log: whatever else did fits as well"
    if signal in _SELDOM:
        return f"{crept}, such as the temperature of the coolant, which is not logged"
    return f"{crept}, and what the ECU followed may not be logged"


def _less_sure(one: Extra, why: str) -> Extra:
    points = (*one.points, Point("against", why))
    return replace(one, certainty=SUSPECTED, points=points)
