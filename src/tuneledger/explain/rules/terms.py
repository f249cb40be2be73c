"""Single conditions that hold wherever something acts: the tightest one that each channel offers.

A switch offers a state, a continuous channel a threshold from either side, and both a switch's
states offer times: since it turned, for how long it has been so, how long ago it last was.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.explain.rules.columns import Column
from tuneledger.explain.rules.pattern import Pattern

# This share of the acting rows may lie outside a condition: noise around a threshold.
_STRAY = 0.015
_TIMED_PRICE = 2.5
# A threshold has to be placed, a switch only named.
_PLACED_PRICE = 2.0
# A time that is the length of half the log is no timer.
_LONGEST_TIMER_S = 12.0


@dataclass(frozen=True, eq=False)
class Term:
    """A condition on one number per row: `number` above or below `limit`, or equal to `state`.

    number: the channel itself, or a time derived from one of its states
    side:   +1 above, −1 below, 0 equal to `limit`
    timer:  None, "since", "held" or "linger"; `state` is then the state that is timed
    release: once it holds it goes on holding until the number passes this the other way
    """

    column: Column
    number: FloatArray
    side: int
    limit: float
    price: float
    timer: str | None = None
    state: float | None = None
    release: float | None = None

    def holds(self) -> BoolArray:
        """Per row of the log; False where the channel has nothing."""
        if self.side == 0:
            return np.asarray(self.number == self.limit)
        number = np.where(np.isfinite(self.number), self.side * self.number, -np.inf)
        on = number > self.side * self.limit
        if self.release is None:
            return np.asarray(on)
        return _kept(on, number < self.side * self.release)

    def key(self) -> tuple[str, int, str | None, float | None]:
        return (self.column.name, self.side, self.timer, self.state)

    def written(self) -> Mapping[str, Any]:
        """The condition as a sheet writes it, on the log's own name and unit."""
        name = self.column.name
        if self.timer is None:
            if self.side == 0:
                return {"channel": name, "is": _plain(self.limit)}
            written = {"channel": name, "above" if self.side > 0 else "below": _plain(self.limit)}
            return written if self.release is None else {**written, "release": _plain(self.release)}
        turned = {"channel": name, "is": _plain(self.state or 0.0)}
        limit = _plain(round(self.limit, 3))
        if self.timer == "since":
            return {"since": turned, "unit": "s", "below": limit}
        return {**turned, self.timer: limit}


def _kept(on: BoolArray, off: BoolArray) -> BoolArray:
    """True from a row that sets it to the row that resets it; before either, as the first row."""
    rows = np.arange(on.size)
    last_on = np.maximum.accumulate(np.where(on, rows, -1))
    last_off = np.maximum.accumulate(np.where(off, rows, -1))
    return np.asarray(last_on > last_off)


def _plain(number: float) -> float | int:
    return int(number) if float(number).is_integer() else float(number)


def terms(column: Column, pattern: Pattern, times: FloatArray) -> Iterator[Term]:
    """Every condition of one channel that holds in nearly all rows where something acts."""
    acts = np.flatnonzero(pattern.acts)
    if column.levels:
        yield from _of_switch(column, acts, pattern, times)
        if len(column.levels) <= 2:
            return
    here = column.values[acts]
    here = here[np.isfinite(here)]
    if here.size < 0.95 * acts.size:
        return
    low, high = np.quantile(here, [_STRAY, 1.0 - _STRAY])
    price = column.price + _PLACED_PRICE
    yield Term(column, column.values, +1, float(np.nextafter(low, -np.inf)), price)
    yield Term(column, column.values, -1, float(np.nextafter(high, np.inf)), price)


def _of_switch(
    column: Column, acts: IntArray, pattern: Pattern, times: FloatArray
) -> Iterator[Term]:
    for state in column.levels:
        on = column.values == state
        share = float(on[acts].mean())
        if share >= 1.0 - _STRAY:
            yield Term(column, column.values, 0, state, column.price)
        if not 0 < on.sum() < on.size:
            continue
        yield from _timed(column, state, on, acts, times, share)


def _timed(
    column: Column, state: float, on: BoolArray, acts: IntArray, times: FloatArray, share: float
) -> Iterator[Term]:
    """Times around a state: only those that stay short wherever something acts."""
    price = column.price + _PLACED_PRICE + _TIMED_PRICE
    since = since_turned(on, times)
    longest = float(np.quantile(since[acts], 1.0 - _STRAY, method="higher"))
    if longest <= _LONGEST_TIMER_S:
        limit = float(np.nextafter(longest, np.inf))
        yield Term(column, since, -1, limit, price + _length(limit), "since", state)
    if share >= 1.0 - _STRAY:
        since_began = lasted(on, times)
        shortest = float(np.quantile(since_began[acts], _STRAY, method="lower"))
        if 0 < shortest <= _LONGEST_TIMER_S:
            limit = float(np.nextafter(shortest, -np.inf))
            yield Term(column, since_began, +1, limit, price + _length(limit), "held", state)
    elif share > 0.3:
        ago = last_so(on, times)
        longest = float(np.quantile(ago[acts], 1.0 - _STRAY, method="higher"))
        if longest <= _LONGEST_TIMER_S:
            limit = float(np.nextafter(longest, np.inf))
            yield Term(column, ago, -1, limit, price + _length(limit), "linger", state)


def _length(seconds: float) -> float:
    """Nats that a long time costs more than a short one: timers of ECUs are short."""
    return max(0.0, float(np.log2(max(seconds, 0.1) / 2.0)))


def since_turned(on: BoolArray, times: FloatArray) -> FloatArray:
    """Seconds since a state last became true; infinite before it ever has."""
    turned = np.zeros_like(on)
    turned[1:] = on[1:] & ~on[:-1]
    return times - _last(np.where(turned, times, -np.inf))


def lasted(on: BoolArray, times: FloatArray) -> FloatArray:
    """For how many seconds a state has been true; −1 where it is not.

    A state that was true from the first row on has lasted nobody knows how long: infinite.
    """
    began = np.zeros_like(on)
    began[1:] = on[1:] & ~on[:-1]
    out: FloatArray = np.where(on, times - _last(np.where(began, times, -np.inf)), -1.0)
    return out


def last_so(on: BoolArray, times: FloatArray) -> FloatArray:
    """How many seconds ago a state was last true; 0 while it is, infinite before it ever was."""
    return times - _last(np.where(on, times, -np.inf))


def _last(marks: FloatArray) -> FloatArray:
    out: FloatArray = np.maximum.accumulate(marks)
    return out
