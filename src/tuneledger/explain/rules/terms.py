"""Single conditions that hold wherever something acts: the tightest one that each channel offers.

A switch offers a state, a continuous channel a threshold from either side; times around a state or
a threshold are in `timers`.
"""

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.explain.rules.columns import Column
from tuneledger.explain.rules.pattern import Pattern
from tuneledger.record import record

# This share of the acting rows may lie outside a condition: noise around a threshold.
STRAY = 0.015
# A time of a few rows is lag and no timer.
SHORTEST_S = 0.15
# A threshold has to be placed, a switch only named.
PLACED_PRICE = 2.0


@record
class Event:
    """What a time is counted from: a state of a switch (side 0), or a threshold that is passed."""

    side: int
    limit: float

    def holds(self, number: FloatArray) -> BoolArray:
        if self.side == 0:
            return np.asarray(number == self.limit)
        known = np.where(np.isfinite(number), self.side * number, -np.inf)
        return np.asarray(known > self.side * self.limit)

    def written(self, name: str) -> dict[str, Any]:
        word = {0: "is", 1: "above", -1: "below"}[self.side]
        return {"channel": name, word: plain(self.limit)}


@record(eq=False)
class Term:
    """A condition on one number per row: `number` above or below `limit`, or equal to a state.

    number: the channel itself, or a time that is counted from an event of it
    side:   +1 above, −1 below, 0 equal to `limit`
    timer:  None, "since", "held" or "linger"; `event` is then what is timed
    release: once it holds it goes on holding until the number passes this the other way
    """

    column: Column
    number: FloatArray
    side: int
    limit: float
    price: float
    timer: str | None = None
    event: Event | None = None
    release: float | None = None

    @cached_property
    def holds(self) -> BoolArray:
        """Per row of the log; False where the channel has nothing."""
        on = Event(self.side, self.limit).holds(self.number)
        if self.release is None:
            return on
        number = np.where(np.isfinite(self.number), self.side * self.number, -np.inf)
        return _kept(on, number < self.side * self.release)

    def key(self) -> tuple[object, ...]:
        return (self.column.name, self.side, self.timer, self.event and self.event.side)

    def written(self) -> Mapping[str, Any]:
        """The condition as a sheet writes it, on the log's own name and unit."""
        name = self.column.name
        if self.timer is None or self.event is None:
            written = Event(self.side, self.limit).written(name)
            return written if self.release is None else {**written, "release": plain(self.release)}
        turned, limit = self.event.written(name), plain(round(self.limit, 3))
        if self.timer == "since":
            return {"since": turned, "unit": "s", "below": limit}
        return {**turned, self.timer: limit}


def _kept(on: BoolArray, off: BoolArray) -> BoolArray:
    """True from a row that sets it to the row that resets it; before either, as the first row."""
    rows = np.arange(on.size)
    last_on = np.maximum.accumulate(np.where(on, rows, -1))
    last_off = np.maximum.accumulate(np.where(off, rows, -1))
    return np.asarray(last_on > last_off)


def plain(number: float) -> float | int:
    """A number as a sheet would have it: whole where it is whole."""
    return int(number) if float(number).is_integer() else float(number)


def terms(column: Column, pattern: Pattern) -> Iterator[Term]:
    """Every state and threshold of one channel that holds in nearly all rows where something
    acts."""
    acts = np.flatnonzero(pattern.acts)
    for state in column.levels:
        if float((column.values[acts] == state).mean()) >= 1.0 - STRAY:
            yield Term(column, column.values, 0, state, column.price)
    if 0 < len(column.levels) <= 2:
        return
    here = column.values[acts]
    here = here[np.isfinite(here)]
    if here.size < 0.95 * acts.size:
        return
    low, high = np.quantile(here, [STRAY, 1.0 - STRAY])
    price = column.price + PLACED_PRICE
    yield Term(column, column.values, +1, float(np.nextafter(low, -np.inf)), price)
    yield Term(column, column.values, -1, float(np.nextafter(high, np.inf)), price)


def apart(column: Column, acts: IntArray, rests: IntArray) -> Iterator[tuple[Term, int]]:
    """Every state and threshold of one channel that holds in none of the resting rows, with how
    many of the acting rows it loses.

    acts, rests: row numbers; neither is empty
    """
    here, there = column.values[acts], column.values[rests]
    if not np.isfinite(there).all():
        return
    if 0 < len(column.levels) <= 2:
        for state in column.levels:
            if not (there == state).any():
                lost = int((here != state).sum())
                yield Term(column, column.values, 0, state, column.price), lost
        return
    price = column.price + PLACED_PRICE
    for side in (1, -1):
        limit = float((side * there).max()) * side
        lost = int((~(side * here > side * limit)).sum())
        if lost < acts.size:
            yield Term(column, column.values, side, limit, price), lost
