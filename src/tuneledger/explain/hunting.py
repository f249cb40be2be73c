"""An idle that hunts: engine speed swings to and fro for seconds while the governor works.

A governor that hunts is working, but not well: something lets in air, the mixture is off, or its
own gain is too high. Levels are common practice, no source.
"""

from collections.abc import Iterator
from weakref import WeakKeyDictionary

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import merged, true_runs

# A hunt is judged in windows: a calm minute around it must not hide it. The longer one is for slow
# swings.
_WINDOWS_S = (5.0, 15.0)
_OVERLAP = 4
# A steady idle keeps within about 100 rpm either way; a sine of this deviation swings by 120.
_DEVIATION_RPM = 85.0
# To and fro at least twice: one dip and its recovery is no hunt.
_TURNS = 4
# After the throttle closes, the speed first has to come down, and to find its place.
_SETTLED_S = 1.0
_IDLE_AT_MOST_RPM = 1600.0
_ACTING_SHARE = 0.3

# Every sheet asks; forgotten as soon as nobody holds the book.
_SWINGS: WeakKeyDictionary[Book, list[tuple[slice, float]]] = WeakKeyDictionary()


def swing_rpm(book: Book, acting: BoolArray) -> float | None:
    """How far the idle usually swings either way where it hunts; None where it does not hunt.

    acting: rows in which the governor posts something
    """
    speed = book.inputs.signal("engine speed", "rpm")
    if speed is None or book.row_s <= 0:
        return None
    if book not in _SWINGS:
        _SWINGS[book] = list(_swings(book, speed))
    acted = np.concatenate(([0], np.cumsum(acting)))
    swings = [
        swing
        for rows, swing in _SWINGS[book]
        if acted[rows.stop] - acted[rows.start] >= _ACTING_SHARE * (rows.stop - rows.start)
    ]
    return float(np.median(swings)) if swings else None


def _swings(book: Book, speed: FloatArray) -> Iterator[tuple[slice, float]]:
    """The windows in which the idle hunts, whoever acts there, and how far it swings."""
    idles = true_runs(book.regimes.closed & np.isfinite(speed))
    for first, last in merged(idles, book.times, book.row_s):
        for rows in _windows(_settled(speed, first, last, book.row_s), last, book.row_s):
            swing = _swing(speed[rows])
            if swing is not None:
                yield rows, swing


def _settled(speed: FloatArray, first: int, last: int, row_s: float) -> int:
    """The row from which a stretch of closed throttle idles: it has come down to its middle."""
    stretch = speed[first : last + 1]
    return first + int(np.argmax(stretch <= np.median(stretch))) + round(_SETTLED_S / row_s)


def _windows(first: int, last: int, row_s: float) -> Iterator[slice]:
    """Windows that overlap, of each length; a stretch that is shorter is one window."""
    for length_s in _WINDOWS_S:
        length = min(round(length_s / row_s), last + 1 - first)
        if length < 3:
            return
        for start in range(first, last + 2 - length, max(1, length // _OVERLAP)):
            yield slice(start, start + length)


def _swing(speed: FloatArray) -> float | None:
    """How far it swings around its own trend, as a sine would, if wide and often enough."""
    speed = speed[np.isfinite(speed)]
    if speed.size < 3 or np.ptp(speed) < 2.0 * _DEVIATION_RPM:  # the deviation is at most half
        return None
    if float(np.median(speed)) > _IDLE_AT_MOST_RPM:
        return None
    at = np.linspace(-1.0, 1.0, speed.size)
    away = speed - speed.mean() - at * float(at @ speed / (at @ at))
    deviation = float(np.std(away))
    if deviation < _DEVIATION_RPM:
        return None
    # Noise that crosses the middle is no turn: half a deviation on either side is.
    side = np.sign(away) * (np.abs(away) > 0.5 * deviation)
    side = side[side != 0]
    turns = int((side[1:] != side[:-1]).sum())
    return float(np.sqrt(2.0)) * deviation if turns >= _TURNS else None
