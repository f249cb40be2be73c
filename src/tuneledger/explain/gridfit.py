"""Heights of a grid fitted to rows of a log: reweighted least squares with a price on bends."""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray, each_once
from tuneledger.explain.leftover.othermap import corners
from tuneledger.ledger.tolerance import local_change
from tuneledger.record import record

_FEWEST_ROWS = 60  # fewer do not tell a grid from noise, judgement
MOST_ROWS = 20000  # evenly chosen: more only take time, judgement
_ROUNDS = 9  # of reweighting: judgement
_REDESCENDING = 4  # of the rounds, the last so many let go of what does not fit
# From one step of an axis to the next a map's slope changes by about this much: common practice,
# no source.
_BEND_DEG = 1.0
_SURE_DEG = 0.75  # a point that is less certain than this (one sigma) is not known
_LEAST_SUPPORT = 0.3  # nor is one that has less than this share of a row


@record(eq=False)
class Wanted:
    """What is to be fitted: degrees per row, which rows, and how much a row is worth."""

    wanted: FloatArray
    usable: BoolArray
    calm: FloatArray
    tolerance: float


@record(eq=False)
class GridFit:
    """A grid fitted to rows. `known`: the points of which the rows say enough."""

    names: tuple[str, ...]
    points: tuple[FloatArray, ...]
    flat: FloatArray
    known: BoolArray
    rows: IntArray
    misfit: float
    settled: float


def fit_grid(
    data: Wanted,
    columns: tuple[FloatArray, ...],
    names: tuple[str, ...],
    points: tuple[FloatArray, ...],
) -> GridFit | None:
    """The grid over these points; None with too few rows, or with an axis of one point.

    columns: per axis, the signal's values per row (NaN: not known); names: the signals
    """
    rows = np.flatnonzero(data.usable & np.all([np.isfinite(c) for c in columns], axis=0))
    if rows.size < _FEWEST_ROWS or any(p.size < 2 for p in points):
        return None
    if rows.size > MOST_ROWS:
        rows = rows[np.linspace(0, rows.size - 1, MOST_ROWS).astype(np.int64)]
    wanted, calm, tolerance = data.wanted, data.calm, data.tolerance
    index, weight = corners(points, [c[rows] for c in columns])
    flat, known = _solve(index, weight, wanted[rows], calm[rows], points, tolerance)
    miss = np.abs(wanted[rows] - (flat[index] * weight).sum(axis=1))
    near = calm[rows] > 0.3
    within = miss <= tolerance + 0.5 * local_change(wanted)[rows]
    return GridFit(
        names=names,
        points=points,
        flat=flat,
        known=known,
        rows=rows,
        misfit=float(np.average(np.minimum(miss, 4.0), weights=calm[rows])),
        settled=float(within[near].mean()) if near.any() else 0.0,
    )


def round_points(values: FloatArray, steps: int) -> FloatArray:
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
