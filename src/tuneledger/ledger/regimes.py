"""What the engine was doing, row by row, and where there was no spark to speak of.

Each regime is decided from what the log carries; where a signal is missing the regimes that need
it are simply not claimed. Levels are common practice, no source.
"""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.evaluate.model import Inputs
from tuneledger.record import record

REGIMES = (
    "cruise",
    "load",
    "overrun",
    "idle",
    "shift",
    "launch",
    "limiter",
    "after start",
    "cranking",
)

_SHIFT = REGIMES.index("shift")

_TURNING_RPM = 50.0
_RUNNING_RPM = 400.0
_AFTER_START_S = 5.0
_CLOSED_PCT = 3.0
_LOAD_THROTTLE_PCT = 50.0
# At this speed and above the plate has to be open so far before the manifold fills; the slower the
# engine, the less air it asks for.
_FULL_FLOW_RPM, _LEAST_LOAD_PCT = 5000.0, 15.0
_LOAD_SHARE_OF_BARO = 0.85
_LOAD_FILLING_PCT = 75.0
_STANDING_KMH = 3.0
_SHIFT_S = 0.5
# A limiter lets the engine fall back and come again, several times a second.
_BOUNCE_S = 0.4
_IDLE_AT_MOST_RPM = 1600.0
_VACUUM_KPA = 45.0


@record(eq=False)
class Regimes:
    """What the engine was doing, per row.

    code: index into REGIMES; void: no spark to speak of; closed: the throttle is at rest (False
    throughout where no throttle is known)
    load: under load, or perhaps so where nothing tells; load_told: whether a channel tells
    """

    code: IntArray
    void: BoolArray
    load: BoolArray
    load_told: BoolArray
    closed: BoolArray
    throttle_known: bool

    def names(self) -> tuple[str, ...]:
        return tuple(np.array(REGIMES, dtype=object)[self.code].tolist())

    def most(self, rows: slice | IntArray) -> str:
        """The regime that holds for most of some rows.

        A shift is an interruption of something else: it names rows only where it holds for more
        than half of them. Otherwise a long pull would be told as its gear changes.
        """
        counts = np.bincount(self.code[rows], minlength=len(REGIMES))
        if 2 * counts[_SHIFT] <= counts.sum() and counts.sum() > counts[_SHIFT]:
            counts[_SHIFT] = 0
        return REGIMES[int(counts.argmax())]


def find_regimes(inputs: Inputs, *, redline_rpm: float | None = None) -> Regimes:
    """Regimes over the inputs' time base."""
    times = inputs.times
    speed = _or_nan(inputs.signal("engine speed", "rpm"), times)
    throttle = _throttle(inputs)
    road = _or_nan(inputs.signal("vehicle speed", "km/h"), times)
    closed = throttle <= _CLOSED_PCT
    load, told = _load(inputs, throttle, speed)
    load |= ~told & ~_standing(speed, road)

    code = np.zeros(times.size, dtype=np.int64)
    code[load & (told | (speed > _IDLE_AT_MOST_RPM))] = REGIMES.index("load")
    idle = _idle(inputs, speed, closed)
    code[closed & ~idle & (speed > 0)] = REGIMES.index("overrun")
    code[idle] = REGIMES.index("idle")
    code[_shift(inputs, times) & ~idle] = _SHIFT
    code[(road < _STANDING_KMH) & (throttle > 40.0) & (speed > 2000.0)] = REGIMES.index("launch")
    if redline_rpm is not None:
        code[_limiter(times, speed, redline_rpm)] = REGIMES.index("limiter")
    cranking = (speed >= _TURNING_RPM) & (speed < _RUNNING_RPM)
    code[_after_start(times, speed)] = REGIMES.index("after start")
    code[cranking] = REGIMES.index("cranking")
    return Regimes(
        code,
        void=speed < _TURNING_RPM,
        load=load,
        load_told=told,
        closed=closed,
        throttle_known=bool(np.isfinite(throttle).any()),
    )


def _or_nan(values: FloatArray | None, times: FloatArray) -> FloatArray:
    return np.full(times.shape, np.nan) if values is None else values


def _throttle(inputs: Inputs) -> FloatArray:
    """Throttle opening above its own rest, in percent; the pedal where the throttle is not logged.

    A plate rests at one to twenty percent, by make of sensor; what counts is the way from rest.
    """
    for name in ("throttle position", "accelerator position"):
        values = inputs.signal(name, "%")
        if values is not None and np.isfinite(values).any():
            return values - _rest(inputs, values)
    return np.full(inputs.times.shape, np.nan)


def _rest(inputs: Inputs, values: FloatArray) -> float:
    """Where the plate rests, if the log shows it at rest: low and slow, or in deep vacuum.

    The lowest opening of a log may as well be a steady cruise.
    """
    rest = float(np.nanpercentile(values, 2))
    if not 0.0 < rest < 20.0:
        return 0.0
    low = values <= rest + 1.0
    speed = inputs.signal("engine speed", "rpm")
    pressure = inputs.signal("manifold absolute pressure", "kPa")
    slow = speed is not None and float(np.nanmedian(speed[low])) < _IDLE_AT_MOST_RPM
    vacuum = pressure is not None and float(np.nanmedian(pressure[low])) < _VACUUM_KPA
    return rest if slow or vacuum else 0.0


def _load(inputs: Inputs, throttle: FloatArray, speed: FloatArray) -> tuple[BoolArray, BoolArray]:
    """Where a channel shows load, and where any channel could."""
    pressure = inputs.signal("manifold absolute pressure", "kPa")
    filling = inputs.signal("engine load", "%")
    alone = pressure is None and filling is None
    load: BoolArray = throttle > (_opening_under_load(speed) if alone else _LOAD_THROTTLE_PCT)
    told = np.isfinite(throttle)
    open_ = ~(throttle <= _CLOSED_PCT)
    if pressure is not None:
        outside = inputs.signal("barometric pressure", "kPa")
        baro = float(np.nanmedian(outside)) if outside is not None else 101.3
        load = load | (pressure > _LOAD_SHARE_OF_BARO * baro) & open_
        told = told | np.isfinite(pressure)
    if pressure is None and filling is not None:
        load = load | (filling > _LOAD_FILLING_PCT) & open_
        told = told | np.isfinite(filling)
    return load, told


def _opening_under_load(speed: FloatArray) -> FloatArray:
    """The throttle opening, percent of its way, from which a cylinder fills, where nothing else
    tells: less of it at low speed.

    What a round plate lets past grows with 1 − cos of its angle, and what the engine takes in with
    its speed (J. B. Heywood, Internal Combustion Engine Fundamentals, chapter 7; from memory). Not
    knowing the speed asks for the full opening.
    """
    full = 1.0 - np.cos(np.deg2rad(0.9 * _LOAD_THROTTLE_PCT))
    share = np.clip(np.nan_to_num(speed / _FULL_FLOW_RPM, nan=1.0), 0.0, 1.0)
    opening = np.rad2deg(np.arccos(1.0 - full * share)) / 0.9
    return np.asarray(np.maximum(opening, _LEAST_LOAD_PCT), dtype=np.float64)


def _standing(speed: FloatArray, road: FloatArray) -> BoolArray:
    """The engine turns no faster than at idle and the car stands: no load to speak of.

    Slow alone says nothing: an engine that labours uphill turns slowly too.
    """
    standing: BoolArray = (road < _STANDING_KMH) & (speed <= _IDLE_AT_MOST_RPM)
    return standing


def _idle(inputs: Inputs, speed: FloatArray, closed: BoolArray) -> BoolArray:
    target = inputs.signal("idle speed target", "rpm")
    if target is None:
        slow = speed[closed & (speed > _RUNNING_RPM)]
        base = float(np.percentile(slow, 10)) if slow.size else 900.0
        target = np.full(speed.shape, min(base, 1500.0))
    return closed & (speed < np.maximum(1.5 * target, target + 350.0))


def _shift(inputs: Inputs, times: FloatArray) -> BoolArray:
    gear = inputs.signal("gear", None)
    nowhere = np.zeros(times.size, dtype=np.bool_)
    if gear is None:
        return nowhere
    changes = times[1:][np.diff(gear) != 0]
    if changes.size == 0 or changes.size > times.size // 4:
        return nowhere
    return _around(changes, times, before=_SHIFT_S, after=_SHIFT_S / 2)


def _around(moments: FloatArray, times: FloatArray, *, before: float, after: float) -> BoolArray:
    """Rows from so many seconds before any of the moments until so many after it."""
    first = np.searchsorted(times, moments - before, side="left")
    end = np.searchsorted(times, moments + after, side="right")
    turns = np.bincount(first, minlength=times.size + 1).astype(np.int64)
    turns -= np.bincount(end, minlength=times.size + 1)
    within: BoolArray = np.cumsum(turns[:-1]) > 0
    return within


def _limiter(times: FloatArray, speed: FloatArray, redline_rpm: float) -> BoolArray:
    """At the redline, and between two times of reaching it that follow each other closely."""
    at: BoolArray = speed >= redline_rpm
    reached = np.flatnonzero(at)
    apart = np.diff(reached) > 1
    brief = np.diff(times[reached]) <= _BOUNCE_S
    for i in np.flatnonzero(apart & brief):
        at[reached[i] : reached[i + 1]] = True
    return at


def _after_start(times: FloatArray, speed: FloatArray) -> BoolArray:
    started = times[1:][(speed[:-1] < _RUNNING_RPM) & (speed[1:] >= _RUNNING_RPM)]
    return _around(started, times, before=0.0, after=_AFTER_START_S)
