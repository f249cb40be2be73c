"""Tables of a sheet: multilinear look-up in plain words."""

from bisect import bisect_left
from collections.abc import Sequence
from typing import Any

from tuneledger.calibrations.model import UNKNOWN_CELL, Table
from tuneledger.car.machines import NEVER, Read, ReadingMachine, Value
from tuneledger.car.timers import Truth


class TableMachine:
    """A table or an amount, with the memory of its axes."""

    def __init__(self, table: Table, fresh: bool) -> None:
        self._table = table
        self._axes = [(a.at, ReadingMachine(a, fresh)) for a in table.axes]

    def step(self, t: float, read: Read, active: dict[str, Truth]) -> Value:
        at = [machine.step(t, read, active) for _, machine in self._axes]
        if NEVER in at:
            return NEVER
        if not self._table.has_numbers:
            return None
        if self._table.amount is not None:
            return self._table.amount
        return look_up([points for points, _ in self._axes], self._table.values, at)


def look_up(axes: Sequence[Sequence[float]], values: Any, at: Sequence[Value]) -> float | None:
    """Multilinear between points, end values outside; only cells with a share are needed."""
    if not axes:
        return None if values == UNKNOWN_CELL else float(values)
    x = at[0]
    if x is None or isinstance(x, str):
        return None
    rest, deeper = axes[1:], at[1:]
    total = 0.0
    for index, share in _shares(axes[0], x):
        cell = look_up(rest, values[index], deeper)
        if cell is None:
            return None
        total += share * cell
    return total


def _shares(points: Sequence[float], x: float) -> list[tuple[int, float]]:
    last = len(points) - 1
    if x <= points[0]:
        return [(0, 1.0)]
    if x >= points[last]:
        return [(last, 1.0)]
    i = bisect_left(points, x)
    if x == points[i]:
        return [(i, 1.0)]
    share = (x - points[i - 1]) / (points[i] - points[i - 1])
    return [(i - 1, 1.0 - share), (i, share)]
