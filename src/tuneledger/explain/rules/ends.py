"""Where a curve ends although it has not levelled off: what lies beyond was not seen.

To hold its end value is the contract's form of saying nothing of it. Whether the next drive goes
further is told by how the channel came to its end. What it came up to again and again, a pedal at
its stop or full boost, is where the car ends; what it came up to once is where this drive did. Of
what comes about by chance the highest is expected to be beaten by about the distance that it has
from the next highest (common statistics of records, from memory). A drive that never opened the
throttle wide shows the upper end of nothing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.rules.columns import Column
from tuneledger.explain.rules.fitted import Fitted
from tuneledger.explain.rules.shape import Shape
from tuneledger.ledger.book import Book
from tuneledger.record import record
from tuneledger.signals import SIGNALS

# A visit to the end of a channel is over once it has come back by this share of its span; of a
# channel that visited it once nothing more is known.
_VISIT = 0.2
# Wide open: so many per cent; many sensors end at 80 (common practice, no source).
_WIDE = 75.0
# A curve may go on by this share of its span, as steeply as it ended or half as steeply.
_ON, _AS_STEEP = 0.4, (0.5, 1.0)
# A channel that went further than the curve by this share of its span has shown its end.
_FURTHER = 0.02


@record
class End:
    """One end of a curve. side: −1 its lowest point, +1 its highest; at: the channel's number;
    slope: degrees per unit of the channel."""

    side: int
    at: float
    slope: float


def open_ends(book: Book, rule: Fitted) -> tuple[End, ...]:
    """The ends beyond which the next drive is likely to show degrees that this log does not have,
    by more than the tolerance."""
    column = rule.shape.column if rule.shape is not None else None
    return tuple(
        end
        for end in sloping_ends(book, rule)
        if column and abs(end.slope) * _further(book, column, end) > book.tolerance
    )


def sloping_ends(book: Book, rule: Fitted) -> Iterator[End]:
    """The ends at which a curve would post more, beyond tolerance, if a drive went further by much,
    and the channel can go further."""
    shape = rule.shape
    if shape is None or shape.at.size < 2:
        return
    number = shape.column.values[np.isfinite(shape.column.values)]
    span = float(np.ptp(number))
    rises = np.diff(shape.deg) / np.diff(shape.at)
    for side, at in ((-1, 0), (1, -1)):
        end = End(side, float(shape.at[at]), float(rises[at]))
        beyond = float((side * number).max()) - side * end.at > _FURTHER * span
        much = min(_VISIT * span, _room(book, shape.column, end))
        posts = abs(shape.deg[at]) > book.tolerance and not beyond
        if posts and abs(end.slope) * much > book.tolerance:
            yield end


def _further(book: Book, column: Column, end: End) -> float:
    """By how much more the next drive may be expected to reach beyond an end, if it does."""
    number = end.side * column.values[np.isfinite(column.values)]
    shown = end.side < 0 or not _gentle(book)
    beaten = _beaten_by(number) if shown else _VISIT * float(np.ptp(number))
    return min(beaten, _room(book, column, end))


def _gentle(book: Book) -> bool:
    """Whether the log has the throttle or the pedal, and never far open."""
    for signal in ("throttle position", "accelerator position"):
        opened = book.inputs.signal(signal, "%")
        if opened is not None and np.isfinite(opened).any():
            return bool(np.nanmax(opened) < _WIDE)
    return False


def _beaten_by(number: FloatArray) -> float:
    """The distance of the highest number from the highest of any other visit."""
    top = int(number.argmax())
    least = number[top] - _VISIT * np.ptp(number)
    away = np.flatnonzero(number < least)
    before, after = away[away < top], away[away > top]
    others = [number[: before[-1] + 1]] if before.size else []
    others += [number[after[0] :]] if after.size else []
    return float(number[top] - max((other.max() for other in others), default=least))


def _room(book: Book, column: Column, end: End) -> float:
    """How much further the channel can go at all, where it is known which signal it is."""
    role = book.roles.of(column.channel)
    if role is None or role.scale == 0:
        return np.inf
    signal = SIGNALS[role.signal]
    here = end.at * role.scale + role.offset
    rising = end.side * role.scale > 0
    return max(0.0, signal.highest - here if rising else here - signal.lowest) / abs(role.scale)


def continued(rule: Fitted, ends: Sequence[End]) -> Iterator[Fitted]:
    """The curve going on beyond what the log has shown of it, no further than to twice its degrees;
    what never was negative, of channel or degrees, does not become so, nor the other way round."""
    shape = rule.shape
    if shape is None or not ends:
        return
    span, most = float(np.ptp(shape.at)), float(np.abs(shape.deg).max())
    for steep in _AS_STEEP:
        at, deg = shape.at, shape.deg
        for end in ends:
            last = deg[-1] if end.side > 0 else deg[0]
            slope = steep * end.slope
            falls = end.side * slope * last < 0
            on = min(_ON * span, (abs(float(last)) if falls else most) / abs(slope))
            on = min(on, end.at) if end.side < 0 <= end.at else on
            if on <= 0:
                continue
            place = at.size if end.side > 0 else 0
            at = np.insert(at, place, end.at + end.side * on)
            deg = np.insert(deg, place, last + end.side * on * slope)
        if at.size > shape.at.size:
            yield replace(rule, shape=Shape(shape.column, at, deg))
