"""The grid on which a run's visits are counted: the sheet's map, or one recovered from the log."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Axis
from tuneledger.pages.channels import LOAD
from tuneledger.pages.names import name_of
from tuneledger.roles.model import Role
from tuneledger.signals import SIGNALS
from tuneledger.statement.model import LogAccount, Statement
from tuneledger.units import conversion
from tuneledger.wording import listing

_STEPS = (1.0, 2.0, 2.5, 5.0)
_POINTS = 10  # of a recovered axis, about


@dataclass(frozen=True)
class Side:
    """One axis of the grid. A cell reaches half-way to its neighbours; the end cells hold on."""

    name: str
    unit: str
    at: FloatArray

    def nearest(self, numbers: FloatArray) -> FloatArray:
        """The index of the nearest point, NaN for NaN."""
        middles = (self.at[1:] + self.at[:-1]) / 2
        return np.where(np.isfinite(numbers), np.searchsorted(middles, numbers), np.nan)


@dataclass(frozen=True)
class Grid:
    """rows × columns. `cells`: the cell's index per ledger row, per log; None without a ledger.

    values: degrees that stand there, NaN where not known
    says:   where the grid comes from, in a sentence
    depth:  axes of the map that the grid does not show (0 or 1)
    """

    rows: Side
    columns: Side
    values: FloatArray
    cells: tuple[FloatArray | None, ...]
    says: str
    depth: int = 0

    def cell_of(self, at: tuple[float, ...]) -> int | None:
        """The cell of a point of the map's axes."""
        if len(at) < 2 + self.depth:
            return int(self.columns.nearest(np.asarray(at))[0]) if len(at) == 1 else None
        row, column = at[self.depth], at[self.depth + 1]
        index = self.rows.nearest(np.array([row]))[0] * self.columns.at.size
        return int(index + self.columns.nearest(np.array([column]))[0])


def grid(statement: Statement) -> Grid | None:
    """The first sheet's map where the log carries its inputs, else speed × load, else None."""
    return _of_sheet(statement) or _recovered(statement)


def _of_sheet(statement: Statement) -> Grid | None:
    if not statement.sheets:
        return None
    calibration = statement.sheets[0].calibration
    axes = calibration.spark.map.axes
    read = [[_read(axis, books) for axis in axes] for books in statement.logs]
    if not axes or all(any(numbers is None for numbers in log) for log in read):
        return None
    shown = axes[-2:]
    sides = [_side(axis) for axis in shown]
    values = calibration.spark.map.grid
    if len(sides) == 1:
        sides, values = [Side("", "", np.zeros(1)), *sides], values[np.newaxis]
    says = f"The main map of revision {name_of(calibration.revision)}."
    if len(axes) > 2:
        says += f" Its first axis, {_side(axes[0]).name}, is not shown; all of it counts."
        values = np.full(values.shape[1:], np.nan)
    cells = tuple(_cells(sides, log[-2:], b) for log, b in zip(read, statement.logs, strict=True))
    return Grid(sides[0], sides[1], values, cells, says, depth=max(0, len(axes) - 2))


def _recovered(statement: Statement) -> Grid | None:
    """Engine speed × load in round steps; the values are the means that were scheduled there."""
    speed = _Wanted(("engine speed",))
    load = _Wanted(LOAD)
    read = [[w.read(books) for w in (load, speed)] for books in statement.logs]
    usable = [log for log in read if all(numbers is not None for numbers in log)]
    if not usable or any(w.signal is None for w in (load, speed)):
        return None
    sides = []
    for i, w in enumerate((load, speed)):
        at = _round_points(np.concatenate([log[i] for log in usable if log[i] is not None]))
        if at is None or w.signal is None:
            return None
        sides.append(Side(w.signal, SIGNALS[w.signal].unit, at))
    cells = tuple(_cells(sides, log, b) for log, b in zip(read, statement.logs, strict=True))
    values = _means(cells, statement.logs, (sides[0].at.size, sides[1].at.size))
    says = (
        f"No map was given: cells of {listing(side.name for side in sides)}; "
        "the small number is what was scheduled there on average."
    )
    return Grid(sides[0], sides[1], values, cells, says)


class _Wanted:
    """The first of several signals that any log carries."""

    def __init__(self, signals: tuple[str, ...]) -> None:
        self.signals = signals
        self.signal: str | None = None

    def read(self, books: LogAccount) -> FloatArray | None:
        for signal in self.signals if self.signal is None else (self.signal,):
            role = books.roles.get(signal)
            if role is not None:
                self.signal = signal
                return _at_rows(role, books)
        return None


def _side(axis: Axis) -> Side:
    name = " ".join(
        part
        for part in (
            axis.signal or axis.channel or "time since",
            f"− {axis.minus}" if axis.minus else "",
            f"÷ {axis.over}" if axis.over else "",
        )
        if part
    )
    return Side(name_of(name), axis.unit or _own_unit(axis), axis.points)


def _own_unit(axis: Axis) -> str:
    signal = SIGNALS.get(axis.signal or "")
    return signal.unit if signal and not axis.over else ""


def _read(axis: Axis, books: LogAccount) -> FloatArray | None:
    """The axis's reading per ledger row in the axis's unit; None where the page cannot read it."""
    if axis.since is not None or axis.rate is not None:
        return None
    first = _numbers(axis.signal, axis.channel, axis.unit, books)
    for name, minus in ((axis.minus, True), (axis.over, False)):
        if name is None or first is None:
            continue
        other = _numbers(name, name, axis.unit if minus else None, books)
        if other is None:
            return None
        with np.errstate(divide="ignore", invalid="ignore"):
            first = first - other if minus else first / other
    return first


def _numbers(
    signal: str | None, name: str | None, unit: str | None, books: LogAccount
) -> FloatArray | None:
    role = books.roles.get(signal) if signal else None
    if role is None:
        channel = books.log.find(name) if name else None
        role = Role(channel.name, channel, channel.unit) if channel is not None else None
    if role is None or books.ledger is None:
        return None
    own = SIGNALS[role.signal].unit if role.signal in SIGNALS else role.unit
    scale, offset = (conversion(own, unit) if unit else None) or (1.0, 0.0)
    return _at_rows(role, books) * scale + offset


def _at_rows(role: Role, books: LogAccount) -> FloatArray:
    """A role at the ledger's times, in the signal's own unit; empty where there is no ledger."""
    if books.ledger is None:
        return np.empty(0)
    series = books.log.series(role.channel)
    return role.read(series.on(books.ledger.times, held=role.held))


def _cells(
    sides: list[Side], numbers: list[FloatArray | None], books: LogAccount
) -> FloatArray | None:
    """Cell index per ledger row; NaN where void or where an input is missing."""
    ledger = books.ledger
    present = [n for n in numbers if n is not None]
    if ledger is None or len(present) != len(numbers):
        return None
    if len(present) == 1:
        present = [np.zeros(ledger.times.shape), *present]
    row, column = (side.nearest(n) for side, n in zip(sides, present, strict=True))
    void: BoolArray = ledger.void
    return np.where(void, np.nan, row * sides[1].at.size + column)


def _round_points(numbers: FloatArray) -> FloatArray | None:
    """About `_POINTS` round numbers over what was driven, without the outermost half percent."""
    driven = numbers[np.isfinite(numbers)]
    if not driven.size:
        return None
    low, high = np.quantile(driven, [0.005, 0.995])
    step = next(s for s in _round_steps(max(high - low, 1e-9)) if (high - low) / s <= _POINTS)
    return np.arange(round(low / step), round(high / step) + 1) * step


def _round_steps(span: float) -> Iterator[float]:
    decade = 10.0 ** math.floor(math.log10(span / _POINTS))
    for power in (decade, decade * 10, decade * 100):
        yield from (step * power for step in _STEPS)


def _means(
    cells: tuple[FloatArray | None, ...], logs: tuple[LogAccount, ...], shape: tuple[int, int]
) -> FloatArray:
    total, seen = np.zeros(shape[0] * shape[1]), np.zeros(shape[0] * shape[1])
    for index, books in zip(cells, logs, strict=True):
        if index is None or books.ledger is None:
            continue
        known = np.isfinite(index) & np.isfinite(books.ledger.scheduled)
        where = index[known].astype(np.int64)
        total += np.bincount(where, books.ledger.scheduled[known], total.size)
        seen += np.bincount(where, minlength=seen.size)
    with np.errstate(invalid="ignore"):
        return (total / seen).reshape(shape)
