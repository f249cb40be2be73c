"""An idle that hunts: engine speed swings to and fro for seconds while the governor works.

A governor that hunts is working, but not well: something lets in air, the mixture is off, or its
own gain is too high. The car stands meanwhile: one that coasts down through its gears is no hunt,
nor is one that creeps, where the driven wheels pull the engine about. Levels are common practice,
no source.
"""

from collections.abc import Iterator
from weakref import WeakKeyDictionary

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import merged, true_runs
from tuneledger.record import record

# A hunt is judged in windows: a calm minute around it must not hide it. The longer one is for slow
# swings.
_WINDOWS_S = (5.0, 15.0)
_OVERLAP = 4  # windows begin a quarter of their length apart
# A steady idle keeps within about 100 rpm either way; a sine of this deviation swings by 120.
_DEVIATION_RPM = 85.0
# To and fro at least twice: one dip and its recovery is no hunt.
_TURNS = 4
# After the throttle closes, the speed first has to come down, and to find its place.
_SETTLED_S = 1.0
_IDLE_AT_MOST_RPM = 1600.0  # a cold engine's fast idle included: common practice, no source
_ACTING_SHARE = 0.3  # of a window: less of it is not what makes it hunt, judgement
_STANDING_KMH = 3.0  # below that a wheel sensor shows nothing steady: common practice, no source
# Blips open the throttle, if only for a moment.
_CLOSED_SHARE = 0.95
# It swings about its target, or about the idle that the log shows: no further off on average.
_OFF_BY_SWINGS, _OFF_RPM = 2.0, 200.0
_LOWEST = 0.05  # a share of the rows: the lowest speed, a stumble left out
# Swings are of one kind: most lie within a factor of two of the usual one.
_ALIKE, _MOSTLY = 2.0, 0.7
# A car that coasts loses speed slowly and gains it at once as a lower gear is engaged.
_FALLING_SHARE = 0.7
# It is looked at in so many parts of a swing, so that noise is none; less than so much of the usual
# change from one to the next is calm.
_PARTS, _CALM = 12, 0.25

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
    stands = _stands(book)
    closed = book.regimes.closed & np.isfinite(speed)
    aim = _aim(book, speed, closed)
    gear = book.inputs.signal("gear", None)
    idles = true_runs(closed if stands is None else closed & stands)
    for first, last in merged(idles, book.times, book.row_s):
        for rows in _windows(_settled(speed, first, last, book.row_s), last, book.row_s):
            if closed[rows].mean() < _CLOSED_SHARE or _shifts(gear, rows):
                continue
            hunt = _hunt(speed[rows])
            if hunt is None or (stands is None and not hunt.falls_as_it_rises):
                continue
            off = abs(float(hunt.course.mean()) - float(np.median(aim[rows])))
            if not off > max(_OFF_BY_SWINGS * hunt.swing, _OFF_RPM):
                yield rows, hunt.swing


def _stands(book: Book) -> BoolArray | None:
    """Where the car stands; None where no speed is logged that tells."""
    road = book.inputs.signal("vehicle speed", "km/h")
    if road is None or not np.isfinite(road).any() or np.nanmin(road) == np.nanmax(road) != 0.0:
        return None  # a sensor that never moves tells nothing
    return ~(road >= _STANDING_KMH)


def _aim(book: Book, speed: FloatArray, closed: BoolArray) -> FloatArray:
    """The speed that the idle is to have; without a target, about the lowest that it has."""
    target = book.inputs.signal("idle speed target", "rpm")
    if target is not None and np.isfinite(target).any():
        return target
    lowest = float(np.quantile(speed[closed], _LOWEST)) if closed.any() else np.nan
    return np.full(speed.shape, lowest)


def _shifts(gear: FloatArray | None, rows: slice) -> bool:
    """Whether the gear changes meanwhile."""
    here = np.empty(0) if gear is None else gear[rows][np.isfinite(gear[rows])]
    return bool(here.size and np.ptp(here) > 0)


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


@record(eq=False)
class _Hunt:
    """How far the speed swings either way, rpm, its course from the first turn to the last, and how
    many rows one swing to and fro usually takes."""

    swing: float
    course: FloatArray
    period: int

    @property
    def falls_as_it_rises(self) -> bool:
        """Whether it spends not much more time in falling than in rising, the calm apart."""
        apart = max(1, self.period // _PARTS)
        steps = self.course[apart:] - self.course[:-apart]
        usual = 4.0 * self.swing * apart / self.period
        falling = int((steps < -_CALM * usual).sum())
        rising = int((steps > _CALM * usual).sum())
        return falling <= _FALLING_SHARE * max(falling + rising, 1)


def _hunt(speed: FloatArray) -> _Hunt | None:
    """The swings about the speed's own trend, as of a sine, if wide, many and even enough."""
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
    out = np.flatnonzero(np.abs(away) > 0.5 * deviation)
    turns = out[1:][np.sign(away[out[1:]]) != np.sign(away[out[:-1]])]
    if turns.size < _TURNS:
        return None
    # What the window cuts off, before its first turn and after its last, is no whole swing.
    sizes = np.array([float(np.abs(part).max()) for part in np.split(away, turns)[1:-1]])
    periods = (turns[2:] - turns[:-2]).astype(np.float64)
    if not (_alike(sizes) and _alike(periods)):
        return None
    swing, course = float(np.sqrt(2.0)) * deviation, speed[turns[0] : turns[-1]]
    return _Hunt(swing, course, int(np.median(periods)))


def _alike(numbers: FloatArray) -> bool:
    usual = float(np.median(numbers))
    same = (numbers >= usual / _ALIKE) & (numbers <= usual * _ALIKE)
    return bool(same.mean() >= _MOSTLY)
