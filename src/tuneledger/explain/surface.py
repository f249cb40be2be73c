"""A main map read out of the log: degrees over load and engine speed, from the rows themselves.

Nobody knows at which points the map of the car has its cells. Even, round steps are tried from
coarse to fine, and the coarsest that reproduces the rows stands. Rows that do not fit are held back
round by round (iteratively reweighted least squares, at last with a weight that falls to nothing),
so that a correction which acts in the smaller part of a cell's visits does not bend the map. One
that acts in all of them cannot be told from the map, by nobody.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray, each_once
from tuneledger.calibrations.model import Axis, Table
from tuneledger.evaluate.lookup import cell_of, interpolate
from tuneledger.evaluate.model import Inputs
from tuneledger.explain.leftover.othermap import corners
from tuneledger.ledger.tolerance import local_change
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

SPEED = "engine speed"
LOADS = (
    "manifold absolute pressure",
    "engine load",
    "throttle position",
    "accelerator position",
)

_FEWEST_ROWS = 60
_MOST_ROWS = 20000
_ROUNDS = 9
_REDESCENDING = 4  # of the rounds, the last so many let go of what does not fit
# How many steps an axis has between its ends, tried in this order.
_STEPS = (6, 9, 13, 18)
_SETTLED = 0.99
_SETTLED_LIKE = 0.97
# From one step of an axis to the next a map's slope changes by about this much: common practice,
# no source.
_BEND_DEG = 1.0
_SURE_DEG = 0.75  # a point that is less certain than this (one sigma) is not known
_LEAST_SUPPORT = 0.3  # nor is one that has less than this share of a row
_LIKED = 0.9  # a later kind of load has to fit this much better


@dataclass(frozen=True, eq=False)
class Surface:
    """A map over one or two signals, as the log shows it.

    grid:     degrees per point of the axes; NaN where the run has not been
    seconds:  how long the run was nearest to each point
    spread:   degrees by which the rows there scatter about the map (1.48 × median); NaN unvisited
    values:   the map per row of the log; NaN where it is not known
    coverage: share of the fields between the points that the run has been in, 0 to 1
    settled:  share of the rows fitted that the map reproduces within the tolerance
    """

    axes: tuple[Axis, ...]
    grid: FloatArray
    seconds: FloatArray
    spread: FloatArray
    values: FloatArray
    coverage: float
    settled: float


def map_columns(inputs: Inputs) -> dict[str, FloatArray]:
    """What a main map may be laid over, of what the log carries; signals in their own units."""
    found = ((name, inputs.signal(name, None)) for name in (*LOADS, SPEED))
    return {name: values for name, values in found if values is not None}


def read_surface(
    columns: Mapping[str, FloatArray],
    wanted: FloatArray,
    *,
    tolerance: float,
    row_s: float,
    rows: BoolArray | None = None,
    finest: int = 18,
    like: Table | None = None,
) -> Surface | None:
    """The map that `wanted` (degrees per row; NaN: not known) follows, or None where there is none.

    columns: see `map_columns`; of several logs, one after another
    rows:    the rows that may be fitted; the others only get values
    finest:  how many steps an axis may have; a fine map takes up what is none of its own
    like:    a supplied map whose points are tried first
    None without engine speed, or with too few rows to go by.
    """
    speed = columns.get(SPEED)
    if speed is None:
        return None
    usable = np.isfinite(wanted) & np.isfinite(speed)
    usable = usable if rows is None else usable & rows
    # Fast rows are late rows: what moves within one of them is worth less.
    calm = 1.0 / (1.0 + (local_change(wanted) / tolerance) ** 2)
    data = _Data(wanted, usable, calm, tolerance)
    if like is not None and (known := _points_of(like, columns)) is not None:
        points, names = known
        tried = _fitted(data, tuple(columns[n] for n in names), names, points)
        if tried is not None and tried.settled >= _SETTLED_LIKE:
            return _surface(tried, tuple(columns[n] for n in names), wanted, row_s)
    best: tuple[float, str] | None = None
    for name in LOADS:
        tried = _stepped(data, columns, name, 9) if name in columns else None
        if tried is not None and (best is None or tried.misfit < _LIKED * best[0]):
            best = (tried.misfit, name)
    if best is None:
        return None
    found: _Fit | None = None
    for steps in (s for s in _STEPS if s <= finest):
        tried = _stepped(data, columns, best[1], steps)
        if tried is not None and (found is None or tried.settled > found.settled + 0.002):
            found = tried
        if found is not None and found.settled >= _SETTLED:
            break
    return None if found is None else _surface(found, (columns[best[1]], speed), wanted, row_s)


@dataclass(frozen=True, eq=False)
class _Data:
    """What is to be fitted: degrees per row, which rows, and how much a row is worth."""

    wanted: FloatArray
    usable: BoolArray
    calm: FloatArray
    tolerance: float


@dataclass(frozen=True, eq=False)
class _Fit:
    """A grid fitted to rows. `known`: the points of which the rows say enough."""

    names: tuple[str, ...]
    points: tuple[FloatArray, ...]
    flat: FloatArray
    known: BoolArray
    rows: IntArray
    misfit: float
    settled: float


def _points_of(
    like: Table, columns: Mapping[str, FloatArray]
) -> tuple[tuple[FloatArray, ...], tuple[str, ...]] | None:
    """The points of a supplied map's axes in their signals' own units; None where they are not
    two plain signals of the log."""
    points: list[FloatArray] = []
    names: list[str] = []
    for axis in like.axes:
        if axis.signal is None or axis.signal not in columns:
            return None
        if axis.minus or axis.over or axis.rate or len(axis.at) < 2:
            return None
        own = SIGNALS[axis.signal].unit
        turned = conversion(axis.unit, own) if axis.unit else (1.0, 0.0)
        if turned is None:
            return None
        points.append(np.round(turned[0] * axis.points + turned[1], 6))
        names.append(axis.signal)
    return (tuple(points), tuple(names)) if len(points) == 2 else None


def _stepped(data: _Data, columns: Mapping[str, FloatArray], load: str, steps: int) -> _Fit | None:
    """The fit over a load and engine speed, with axes of about so many round steps."""
    known = np.isfinite(columns[load]) & np.isfinite(columns[SPEED]) & data.usable
    if not known.any():
        return None
    names = (load, SPEED)
    points = tuple(_round_points(columns[n][known], steps) for n in names)
    return _fitted(data, tuple(columns[n] for n in names), names, points)


def _fitted(
    data: _Data,
    columns: tuple[FloatArray, ...],
    names: tuple[str, ...],
    points: tuple[FloatArray, ...],
) -> _Fit | None:
    rows = np.flatnonzero(data.usable & np.all([np.isfinite(c) for c in columns], axis=0))
    if rows.size < _FEWEST_ROWS or any(p.size < 2 for p in points):
        return None
    if rows.size > _MOST_ROWS:
        rows = rows[np.linspace(0, rows.size - 1, _MOST_ROWS).astype(np.int64)]
    wanted, calm, tolerance = data.wanted, data.calm, data.tolerance
    index, weight = corners(points, [c[rows] for c in columns])
    flat, known = _solve(index, weight, wanted[rows], calm[rows], points, tolerance)
    miss = np.abs(wanted[rows] - (flat[index] * weight).sum(axis=1))
    near = calm[rows] > 0.3
    within = miss <= tolerance + 0.5 * local_change(wanted)[rows]
    return _Fit(
        names=names,
        points=points,
        flat=flat,
        known=known,
        rows=rows,
        misfit=float(np.average(np.minimum(miss, 4.0), weights=calm[rows])),
        settled=float(within[near].mean()) if near.any() else 0.0,
    )


def _round_points(values: FloatArray, steps: int) -> FloatArray:
    """Points at round numbers between the lowest and the highest, and those two themselves.

    Not beyond them: what the run has not reached is not to be extrapolated.
    """
    low, high = float(values.min()), float(values.max())
    if high <= low:
        return np.array([low])
    step = _round_step((high - low) / steps)
    inner = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
    inner = inner[(inner > low + 0.3 * step) & (inner < high - 0.3 * step)]
    grain = step / 50.0
    ends = np.round(np.array([low, high]) / grain) * grain
    points: FloatArray = np.concatenate((ends[:1], inner, ends[1:]))
    return each_once(np.round(points, 6))


def _round_step(rough: float) -> float:
    """The nearest of 1, 2, 2.5, 5 and 10 times a power of ten, by ratio."""
    power = 10.0 ** np.floor(np.log10(rough))
    choices = np.array([1.0, 2.0, 2.5, 5.0, 10.0]) * power
    return float(choices[int(np.argmin(np.abs(np.log(choices / rough))))])


def _solve(
    index: IntArray,
    weight: FloatArray,
    wanted: FloatArray,
    calm: FloatArray,
    points: tuple[FloatArray, ...],
    tolerance: float,
) -> tuple[FloatArray, BoolArray]:
    """Heights of all points, and which of them the rows have settled.

    A row is worth half the tolerance, a bend of the map `_BEND_DEG`: in these units the normal
    equations' inverse holds each point's variance.
    """
    size = int(np.prod([p.size for p in points]))
    sigma = tolerance / 2.0
    smooth = (sigma / _BEND_DEG) ** 2 * _second_differences(points)
    smooth[np.diag_indices(size)] += 1e-6
    middle = float(np.median(wanted))
    pairs = (index[:, :, None] * size + index[:, None, :]).ravel()
    products = weight[:, :, None] * weight[:, None, :]
    trust = calm.copy()
    flat: FloatArray = np.full(size, middle)
    equations: FloatArray = smooth
    for turn in range(_ROUNDS):
        normal = np.bincount(pairs, (products * trust[:, None, None]).ravel(), size * size)
        pull = (weight * (trust * (wanted - middle))[:, None]).ravel()
        right = np.bincount(index.ravel(), pull, size)
        equations = np.asarray(normal.reshape(size, size) + smooth, dtype=np.float64)
        flat = np.asarray(middle + np.linalg.solve(equations, right), dtype=np.float64)
        miss = np.abs(wanted - (flat[index] * weight).sum(axis=1)) / tolerance
        if turn < _ROUNDS - _REDESCENDING:
            trust = calm / np.maximum(1.0, miss)
        else:
            trust = calm / (1.0 + (miss / 2.0) ** 2) ** 2
    certain = sigma * np.sqrt(np.maximum(np.diag(np.linalg.inv(equations)), 0.0)) <= _SURE_DEG
    support = np.bincount(index.ravel(), (weight * trust[:, None]).ravel(), size)
    return flat, certain & (support >= _LEAST_SUPPORT)


def _second_differences(points: tuple[FloatArray, ...]) -> FloatArray:
    """The penalty on bends, along each axis: a matrix over all points of the grid.

    Bends are weighed by how far the points lie apart, in steps of the axis.
    """
    shape = tuple(p.size for p in points)
    size = int(np.prod(shape))
    numbers = np.arange(size).reshape(shape)
    out = np.zeros((size, size))
    for axis, at in enumerate(points):
        scaled = (at - at[0]) / (float(np.median(np.diff(at))) or 1.0)
        lines = np.moveaxis(numbers, axis, 0)
        for k in range(1, at.size - 1):
            before, after = scaled[k] - scaled[k - 1], scaled[k + 1] - scaled[k]
            shares = np.array([1.0 / before, -1.0 / before - 1.0 / after, 1.0 / after])
            for one in range(3):
                for two in range(3):
                    rows, columns = lines[k + one - 1].ravel(), lines[k + two - 1].ravel()
                    out[rows, columns] += shares[one] * shares[two]
    return out


def _surface(
    fit: _Fit, columns: tuple[FloatArray, ...], wanted: FloatArray, row_s: float
) -> Surface:
    shape = tuple(p.size for p in fit.points)
    known = fit.known.reshape(shape)
    grid = np.where(known, np.round(fit.flat.reshape(shape), 1), np.nan)
    values = interpolate(fit.points, grid, columns)
    nearest = np.zeros(fit.rows.size, dtype=np.int64)
    fields = np.zeros(fit.rows.size, dtype=np.int64)
    for at, column in zip(fit.points, columns, strict=True):
        here = np.clip(column[fit.rows], at[0], at[-1])
        nearest = nearest * at.size + cell_of(at, here)
        below = np.clip(np.searchsorted(at, here, side="right") - 1, 0, at.size - 2)
        fields = fields * (at.size - 1) + below
    visits = np.bincount(nearest, minlength=known.size).reshape(shape)
    share = row_s * wanted.size / max(fit.rows.size, 1) if fit.rows.size == _MOST_ROWS else row_s
    left = np.abs(wanted - values)[fit.rows]
    return Surface(
        axes=tuple(
            Axis(signal=name, unit=SIGNALS[name].unit, at=tuple(at.tolist()))
            for name, at in zip(fit.names, fit.points, strict=True)
        ),
        grid=grid,
        seconds=np.asarray(visits * share, np.float64),
        spread=_spread(nearest, left, shape),
        values=values,
        coverage=_visited(fields) / int(np.prod([n - 1 for n in shape])),
        settled=fit.settled,
    )


def _visited(fields: IntArray) -> int:
    return int((np.bincount(fields) >= 3).sum())


def _spread(nearest: IntArray, left: FloatArray, shape: tuple[int, ...]) -> FloatArray:
    out = np.full(int(np.prod(shape)), np.nan)
    for point, here in _by_point(nearest, left):
        out[point] = 1.48 * float(np.median(here))
    return out.reshape(shape)


def _by_point(nearest: IntArray, left: FloatArray) -> Iterator[tuple[int, FloatArray]]:
    """What is left at each point, for points that have been visited."""
    known = np.isfinite(left)
    order = np.argsort(nearest[known], kind="stable")
    ordered, values = nearest[known][order], left[known][order]
    starts = np.flatnonzero(np.diff(ordered, prepend=-1))
    for part, start in zip(np.split(values, starts[1:]), starts, strict=True):
        if part.size:
            yield int(ordered[start]), part
