"""Conditions on time: since something turned, for how long it has been so, how long ago it was.

What is timed is a state of a switch, or a threshold of any other channel. Such a threshold shows
itself at the rule's own edges: a time since, and a time after, begin where it is passed; a time
held ends where it is passed back.
"""

import math
from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.explain.rules.columns import Column
from tuneledger.explain.rules.pattern import Pattern
from tuneledger.explain.rules.refine import roundest
from tuneledger.explain.rules.terms import PLACED_PRICE, SHORTEST_S, STRAY, Event, Term
from tuneledger.record import record

# Nats of a timer, beside those of where it stands: judgement.
_TIMED_PRICE = 2.5
# Guards often wait before they act; other times around a threshold are seldom.
_AT_A_THRESHOLD = {"held": 1.0, "since": 3.0, "linger": 3.0}
# A time that was seen once is any length between two things; seen again, it is a time.
_ONCE_PRICE, _ONCE_AT_A_THRESHOLD = {"held": 3.5, "since": 1.0, "linger": 1.0}, 7.0
# A time that is the length of half the log is no timer, one of a few rows is lag.
_LONGEST_S, _FEWEST_ROWS = 12.0, 3.0
# So many of the rule's edges may lie beside the threshold that is timed.
_STRAY_EDGES = 0.26
# Places tried in each round of narrowing.
_TRIED = 9
_LOOKED_AT = 20_000  # rows of a long log by which one threshold is preferred to another


@record(eq=False)
class _Timing:
    """What a search for times needs to know of a log and a pattern."""

    pattern: Pattern
    times: FloatArray
    acts: IntArray
    rests: IntArray
    least: float
    thin: "_Thin"


@record(eq=False)
class _Thin:
    """The same in one of `every` rows; starts, stops: its first and its last acting rows."""

    every: int
    times: FloatArray
    acts: IntArray
    rests: IntArray
    starts: IntArray
    stops: IntArray


def timing_of(pattern: Pattern, times: FloatArray) -> _Timing:
    """What `timers` needs to know, worked out once for all channels."""
    row_s = float(np.median(np.diff(times))) if times.size > 1 else 0.0
    every = max(1, times.size // _LOOKED_AT)
    last = (times.size - 1) // every
    return _Timing(
        pattern,
        times,
        np.flatnonzero(pattern.acts),
        np.flatnonzero(pattern.rests),
        max(SHORTEST_S, _FEWEST_ROWS * row_s),
        _Thin(
            every,
            times[::every],
            np.flatnonzero(pattern.acts[::every]),
            np.flatnonzero(pattern.rests[::every]),
            np.minimum(-(-pattern.starts[1] // every), last),
            pattern.stops[0] // every,
        ),
    )


def timers(column: Column, timing: _Timing) -> Iterator[Term]:
    """Every time around a state or a threshold of one channel that fits where something acts."""
    for state in column.levels:
        event = Event(0, state)
        on = event.holds(column.values)
        if 0 < on.sum() < on.size:
            yield from _around(column, event, timing, ("since", "held", "linger"))
    if not 0 < len(column.levels) <= 2:
        for event, wanted in _passed(column, timing):
            yield from _around(column, event, timing, wanted)


def _passed(column: Column, timing: _Timing) -> Iterator[tuple[Event, tuple[str, ...]]]:
    """Thresholds that the channel passes wherever the rule starts, or wherever it stops."""
    starts, stops = timing.pattern.starts, timing.pattern.stops
    if min(starts[0].size, stops[0].size) == 0:
        return
    for side in (1, -1):
        number = side * column.values
        low, high = _between(number, *starts)
        if low < high:
            for wanted in ("since", "linger"):
                yield Event(side, _steadiest(column, side, (low, high), wanted, timing)), (wanted,)
        low, high = _between(number, *stops[::-1])
        if low < high:
            yield Event(side, _steadiest(column, side, (low, high), "held", timing)), ("held",)


def _between(number: FloatArray, under: IntArray, over: IntArray) -> tuple[float, float]:
    """The stretch in which a threshold lies that is passed between these rows, nearly each time."""
    stray = int(_STRAY_EDGES * under.size)
    low, high = np.sort(number[under])[::-1], np.sort(number[over])
    return float(low[stray]), float(high[stray])


def _steadiest(
    column: Column, side: int, stretch: tuple[float, float], timer: str, timing: _Timing
) -> float:
    """The threshold within a stretch from which a time parts acting rows from others best."""
    low, high = stretch
    middle = roundest(*sorted((side * low, side * high)))
    if timing.pattern.starts[0].size < 2:
        return middle
    grain = 0.5 * (high - low) / _TRIED
    places = low + (high - low) * (np.arange(_TRIED) + 0.5) / _TRIED
    tried = [middle, *(roundest(side * x - grain, side * x + grain) for x in places)]
    number = column.values[:: timing.thin.every]
    costs = [_wrong(Event(side, limit).holds(number), timer, timing.thin) for limit in tried]
    return tried[costs.index(min(costs))]


def _wrong(on: BoolArray, timer: str, thin: _Thin) -> tuple[int, float]:
    """Resting rows that the best time around a state lets through; then, by how much the time
    differs from one turn of the rule to the next."""
    count = counted_from(on, timer, thin.times)
    here, there = count[thin.acts], count[thin.rests]
    if not here.size:
        return there.size, np.inf
    if timer == "held":
        through = int((there > _lower(here)).sum())
        turns = count[thin.starts]
    else:
        through = int((there < _upper(here)).sum())
        turns = count[thin.stops]
    known = turns[np.isfinite(turns)]
    return through, float(np.ptp(known)) if known.size else np.inf


def _lower(values: FloatArray) -> float:
    """The value below which the stray share lies, one of them; asked thousands of times, for which
    `np.quantile` is slow."""
    at = math.floor((values.size - 1) * STRAY)
    return float(np.partition(values, at)[at])


def _upper(values: FloatArray) -> float:
    """The value above which the stray share lies, one of them."""
    at = math.ceil((values.size - 1) * (1.0 - STRAY))
    return float(np.partition(values, at)[at])


def _around(
    column: Column, event: Event, timing: _Timing, wanted: tuple[str, ...]
) -> Iterator[Term]:
    """Times around one event: those that part the rows in which something acts from others."""
    on = event.holds(column.values)
    share = float(on[timing.acts].mean())
    if "since" in wanted:
        yield from _short(column, event, since_turned(on, timing.times), "since", timing)
    if "held" in wanted and share >= 1.0 - STRAY:
        so_far = lasted(on, timing.times)
        seen = so_far[timing.acts][_turned_before(on)[timing.acts]]
        shortest = _lower(seen) if seen.size else 0.0
        before = so_far[timing.rests]
        waited = (before >= 0) & (before < shortest)
        if timing.least <= shortest <= _LONGEST_S and waited.sum() >= 2:
            limit = float(np.nextafter(shortest, -np.inf))
            price = _price(column, event, "held", limit, timing.pattern.starts[0].size)
            yield Term(column, so_far, +1, limit, price, "held", event)
    elif "linger" in wanted and 0.05 < share < 1.0 - STRAY:
        yield from _short(column, event, last_so(on, timing.times), "linger", timing)


def _short(
    column: Column, event: Event, ago: FloatArray, timer: str, timing: _Timing
) -> Iterator[Term]:
    """A time that stays short wherever something acts, and is longer somewhere else."""
    longest = _upper(ago[timing.acts])
    if timing.least <= longest <= _LONGEST_S and (ago[timing.rests] > longest).any():
        limit = float(np.nextafter(longest, np.inf))
        price = _price(column, event, timer, limit, timing.pattern.stops[0].size)
        yield Term(column, ago, -1, limit, price, timer, event)


def _price(column: Column, event: Event, timer: str, seconds: float, seen: int) -> float:
    """Nats for a time around an event, by its length and by how often it was seen."""
    price = column.price + PLACED_PRICE + _TIMED_PRICE
    if event.side:
        price += PLACED_PRICE + _AT_A_THRESHOLD[timer]
    if seen < 2:
        price += _ONCE_AT_A_THRESHOLD if event.side else _ONCE_PRICE[timer]
    return price + _length(seconds)


def _length(seconds: float) -> float:
    """Nats that a long time costs more than a short one: timers of ECUs are short."""
    return max(0.0, float(np.log2(max(seconds, 0.1) / 2.0)))


def counted_from(on: BoolArray, timer: str, times: FloatArray) -> FloatArray:
    """The seconds that a timer of that kind ("since", "held", "linger") counts, around a state."""
    return {"held": lasted, "since": since_turned, "linger": last_so}[timer](on, times)


def since_turned(on: BoolArray, times: FloatArray) -> FloatArray:
    """Seconds since a state last became true; infinite before it ever has."""
    turned = np.zeros_like(on)
    turned[1:] = on[1:] & ~on[:-1]
    return times - _last(np.where(turned, times, -np.inf))


def lasted(on: BoolArray, times: FloatArray) -> FloatArray:
    """For how many seconds a state has been true, from the log's first row on; −1 where it is
    not."""
    began = on.copy()
    began[1:] &= ~on[:-1]
    out: FloatArray = np.where(on, times - _last(np.where(began, times, -np.inf)), -1.0)
    return out


def last_so(on: BoolArray, times: FloatArray) -> FloatArray:
    """How many seconds ago a state was last true; 0 while it is, infinite before it ever was."""
    return times - _last(np.where(on, times, -np.inf))


def _turned_before(on: BoolArray) -> BoolArray:
    """Rows by which the state was untrue at least once: how long it lasts is known from then on."""
    return np.asarray(np.logical_or.accumulate(~on))


def _last(marks: FloatArray) -> FloatArray:
    out: FloatArray = np.maximum.accumulate(marks)
    return out
