"""The grid on which a run's visits are counted: the sheet's map, or one recovered from the log."""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Axis
from tuneledger.evaluate.lookup import look_up
from tuneledger.evaluate.readings import read
from tuneledger.pages.channels import LOAD
from tuneledger.pages.names import name_of
from tuneledger.record import record
from tuneledger.roles.inputs import LogInputs
from tuneledger.signals import SIGNALS
from tuneledger.statement.model import LogAccount, Statement
from tuneledger.wording import listing

LEAST_DEG = 0.005  # below it two maps say the same
_STEPS = (1.0, 2.0, 2.5, 5.0)
_POINTS = 10  # of a recovered axis, about


@record
class Side:
    """One axis of the grid. A cell reaches half-way to its neighbours; the end cells hold on."""

    name: str
    unit: str
    at: FloatArray

    def nearest(self, numbers: FloatArray) -> FloatArray:
        """The index of the nearest point, NaN for NaN."""
        middles = (self.at[1:] + self.at[:-1]) / 2
        return np.where(np.isfinite(numbers), np.searchsorted(middles, numbers), np.nan)


@record
class Layer:
    """Another map less this one, in the grid's cells; NaN where one is not known.

    revision: whose map it is; None where the log alone shows it
    """

    revision: str | None
    says: str
    values: FloatArray


@record
class Grid:
    """rows × columns. `cells`: the cell's index per ledger row, per log; None without a ledger.

    values: degrees that stand there, NaN where not known
    says:   where the grid comes from, in a sentence
    depth:  axes of the map that the grid does not show (0 or 1)
    layers: how the other supplied maps differ, those that do
    """

    rows: Side
    columns: Side
    values: FloatArray
    cells: tuple[FloatArray | None, ...]
    says: str
    depth: int = 0
    layers: tuple[Layer, ...] = ()

    def cell_of(self, at: tuple[float, ...]) -> int | None:
        """The cell of a point of the map's axes."""
        if len(at) < 2 + self.depth:
            return int(self.columns.nearest(np.asarray(at))[0]) if len(at) == 1 else None
        row, column = at[self.depth], at[self.depth + 1]
        index = self.rows.nearest(np.array([row]))[0] * self.columns.at.size
        return int(index + self.columns.nearest(np.array([column]))[0])


def grid(statement: Statement) -> Grid | None:
    """The first sheet's map where the log carries its inputs, else speed × load, else None."""
    inputs = [
        LogInputs(books.log, books.roles, books.ledger.times) if books.ledger else None
        for books in statement.logs
    ]
    return _of_sheet(statement, inputs) or _recovered(statement, inputs)


def _of_sheet(statement: Statement, inputs: list[LogInputs | None]) -> Grid | None:
    if not statement.sheets:
        return None
    calibration = statement.sheets[0].calibration
    axes = calibration.spark.map.axes
    found = [[read(axis, log) if log else None for axis in axes] for log in inputs]
    if not axes or all(any(numbers is None for numbers in log) for log in found):
        return None
    sides = [side_of(axis) for axis in axes[-2:]]
    values = calibration.spark.map.grid
    if len(sides) == 1:
        sides, values = [Side("", "", np.zeros(1)), *sides], values[np.newaxis]
    says = f"The main map of revision {name_of(calibration.revision)}."
    if len(axes) > 2:
        says += f" Its first axis, {side_of(axes[0]).name}, is not shown; all of it counts."
        values = np.full(values.shape[1:], np.nan)
    cells = tuple(_cells(sides, log[-2:], b) for log, b in zip(found, statement.logs, strict=True))
    layers = () if len(axes) > 2 else tuple(_layers(statement, values))
    depth = max(0, len(axes) - 2)
    bare = Grid(sides[0], sides[1], values, cells, says, depth)
    return replace(bare, layers=(*layers, *_shown_by_the_log(bare, statement)))


def _shown_by_the_log(grid: Grid, statement: Statement) -> Iterator[Layer]:
    """The cells in which a log shows another map that no sheet has."""
    first = statement.sheets[0].calibration.revision
    for cause in statement.causes:
        if cause.kind != "other map" or cause.revision is not None:
            continue
        apart = np.full(grid.values.size, np.nan)
        for cell in cause.cells:
            index = grid.cell_of(cell.at)
            if index is not None:
                apart[index] = cell.difference_deg
        if np.isfinite(apart).any():
            says = f"what the log shows less {name_of(first)}"
            yield Layer(None, says, apart.reshape(grid.values.shape))
            return


def _layers(statement: Statement, values: FloatArray) -> Iterator[Layer]:
    """The other sheets' maps over the first one's points, where both read the same axes."""
    first, *others = (sheet.calibration for sheet in statement.sheets)
    own = first.spark.map.axes
    columns = [c.ravel() for c in np.meshgrid(*(axis.points for axis in own), indexing="ij")]
    for other in others:
        table = other.spark.map
        if [_read_as(axis) for axis in table.axes] != [_read_as(axis) for axis in own]:
            continue
        apart = look_up(table, columns).reshape(values.shape) - values
        if np.any(np.abs(np.nan_to_num(apart)) > LEAST_DEG):
            says = f"{name_of(other.revision)} less {name_of(first.revision)}"
            yield Layer(other.revision, f"revision {says}", apart)


def _read_as(axis: Axis) -> dict[str, object]:
    return {key: value for key, value in axis.given.items() if key != "at"}


def _recovered(statement: Statement, inputs: list[LogInputs | None]) -> Grid | None:
    """Engine speed × load in round steps; the values are the means that were scheduled there."""
    logs = [log for log in inputs if log]
    load = next((s for s in LOAD if any(log.signal(s, None) is not None for log in logs)), None)
    if load is None:
        return None
    names = (load, "engine speed")
    found = [[log.signal(name, None) if log else None for name in names] for log in inputs]
    sides = []
    for i, name in enumerate(names):
        driven = [numbers for log in found if (numbers := log[i]) is not None]
        at = _round_points(np.concatenate(driven)) if driven else None
        if at is None:
            return None
        sides.append(Side(name, SIGNALS[name].unit, at))
    cells = tuple(_cells(sides, log, b) for log, b in zip(found, statement.logs, strict=True))
    values = _means(cells, statement.logs, (sides[0].at.size, sides[1].at.size))
    says = (
        f"No map was given: cells of {listing(side.name for side in sides)}; "
        "the small number is what was scheduled there on average."
    )
    return Grid(sides[0], sides[1], values, cells, says)


def side_of(axis: Axis) -> Side:
    """An axis of a table, as a side that a grid may have."""
    name = " ".join(
        part
        for part in (
            axis.signal or axis.channel or "time since",
            f"− {axis.minus}" if axis.minus else "",
            f"÷ {axis.over}" if axis.over else "",
            "per second" if axis.rate else "",
        )
        if part
    )
    return Side(name_of(name), axis.unit or _own_unit(axis), axis.points)


def _own_unit(axis: Axis) -> str:
    signal = SIGNALS.get(axis.signal or "")
    return signal.unit if signal and not axis.over else ""


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
