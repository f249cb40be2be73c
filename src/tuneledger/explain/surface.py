"""A main map read out of the log: degrees over load and engine speed, from the rows themselves.

Nobody knows at which points the map of the car has its cells. Even, round steps are tried from
coarse to fine, and the coarsest that reproduces the rows stands. Rows that do not fit are held back
round by round (iteratively reweighted least squares, at last with a weight that falls to nothing),
so that a correction which acts in the smaller part of a cell's visits does not bend the map. One
that acts in all of them cannot be told from the map, by nobody.
"""

from collections.abc import Iterator, Mapping

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.calibrations.model import Axis, Table
from tuneledger.evaluate.lookup import cell_of, interpolate
from tuneledger.evaluate.model import Inputs
from tuneledger.explain.gridfit import MOST_ROWS, GridFit, Wanted, fit_grid, round_points
from tuneledger.ledger.tolerance import local_change
from tuneledger.record import record
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

SPEED = "engine speed"
LOADS = (
    "manifold absolute pressure",
    "engine load",
    "throttle position",
    "accelerator position",
)

# How many steps an axis has between its ends, tried in this order.
_STEPS = (6, 9, 13, 18)
_SETTLED = 0.99
_SETTLED_LIKE = 0.97
_LIKED = 0.9  # a later kind of load has to fit this much better


@record(eq=False)
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
    data = Wanted(wanted, usable, calm, tolerance)
    if like is not None and (known := _points_of(like, columns)) is not None:
        points, names = known
        tried = fit_grid(data, tuple(columns[n] for n in names), names, points)
        if tried is not None and tried.settled >= _SETTLED_LIKE:
            return _surface(tried, tuple(columns[n] for n in names), wanted, row_s)
    best: tuple[float, str] | None = None
    for name in LOADS:
        tried = _stepped(data, columns, name, 9) if name in columns else None
        if tried is not None and (best is None or tried.misfit < _LIKED * best[0]):
            best = (tried.misfit, name)
    if best is None:
        return None
    found: GridFit | None = None
    for steps in (s for s in _STEPS if s <= finest):
        tried = _stepped(data, columns, best[1], steps)
        if tried is not None and (found is None or tried.settled > found.settled + 0.002):
            found = tried
        if found is not None and found.settled >= _SETTLED:
            break
    return None if found is None else _surface(found, (columns[best[1]], speed), wanted, row_s)


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


def _stepped(
    data: Wanted, columns: Mapping[str, FloatArray], load: str, steps: int
) -> GridFit | None:
    """The fit over a load and engine speed, with axes of about so many round steps."""
    known = np.isfinite(columns[load]) & np.isfinite(columns[SPEED]) & data.usable
    if not known.any():
        return None
    names = (load, SPEED)
    points = tuple(round_points(columns[n][known], steps) for n in names)
    return fit_grid(data, tuple(columns[n] for n in names), names, points)


def _surface(
    fit: GridFit, columns: tuple[FloatArray, ...], wanted: FloatArray, row_s: float
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
    share = row_s * wanted.size / max(fit.rows.size, 1) if fit.rows.size == MOST_ROWS else row_s
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
    if not known.any():
        return
    order = np.argsort(nearest[known], kind="stable")
    ordered, values = nearest[known][order], left[known][order]
    starts = np.flatnonzero(np.diff(ordered, prepend=-1))
    if not starts.size:
        return
    for part, start in zip(np.split(values, starts[1:]), starts, strict=True):
        yield int(ordered[start]), part
