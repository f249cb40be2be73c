"""How well a channel is a function of two others: a grid, fitted by least squares.

Each row touches the four points of its cell only, so that the normal equations are gathered by
counting; no large matrix is ever multiplied.
"""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray, each_once
from tuneledger.record import record

_POINTS = 9
_SUPPORT = 4.0
_RIDGE = 1e-3


@record(eq=False)
class Grid:
    """Where rows lie in a grid over two inputs. points, shares: the four of each row's cell."""

    size: int
    points: IntArray
    shares: FloatArray


@record(eq=False)
class Surface:
    """A fitted grid: heights of its points, and how many rows stand behind each."""

    grid: Grid
    heights: FloatArray
    support: FloatArray

    @property
    def values(self) -> FloatArray:
        return np.asarray((self.grid.shares * self.heights[self.grid.points]).sum(axis=1))

    @property
    def known(self) -> BoolArray:
        """Rows whose points all had rows enough to be fitted from."""
        thin = self.grid.shares * (self.support < _SUPPORT)[self.grid.points]
        return np.asarray(thin.sum(axis=1) < 0.02)


def lay(one: FloatArray, other: FloatArray) -> Grid:
    """A grid laid over two inputs by their quantiles."""
    (a, share_a, size_a), (b, share_b, size_b) = _cells(one), _cells(other)
    points = np.stack([(a + i) * size_b + b + k for i in (0, 1) for k in (0, 1)], axis=1)
    shares = np.stack(
        [x * y for x in (1 - share_a, share_a) for y in (1 - share_b, share_b)], axis=1
    )
    return Grid(size_a * size_b, points, shares)


def fit(grid: Grid, values: FloatArray, rows: BoolArray | None = None) -> Surface:
    """Least squares over `rows` (all), slightly drawn to their mean where little is known."""
    chosen = slice(None) if rows is None else rows
    points, shares, wanted = grid.points[chosen], grid.shares[chosen], values[chosen]
    mean, size = float(wanted.mean()), grid.size
    pairs = (points[:, :, None] * size + points[:, None, :]).ravel()
    products = (shares[:, :, None] * shares[:, None, :]).ravel()
    left = np.bincount(pairs, products, size * size).astype(np.float64).reshape(size, size)
    right = np.bincount(points.ravel(), (shares * (wanted - mean)[:, None]).ravel(), size)
    left[np.diag_indices(size)] += _RIDGE * wanted.size / size
    support = np.bincount(points.ravel(), shares.ravel(), size).astype(np.float64)
    heights = np.asarray(np.linalg.solve(left, right) + mean, dtype=np.float64)
    return Surface(grid, heights, support)


def misfit(drawn: Surface, values: FloatArray) -> float:
    """How far the values are from the surface, on average; far outliers count as 4."""
    return float(np.minimum(np.abs(drawn.values - values), 4.0).mean())


def _cells(values: FloatArray) -> tuple[IntArray, FloatArray, int]:
    """(point below, share of the point above, number of points) along one input."""
    at = each_once(np.quantile(values, np.linspace(0.005, 0.995, _POINTS)))
    at = at[np.concatenate([[True], np.diff(at) > 1e-3 * max(1e-9, float(np.ptp(at)))])]
    if at.size < 2:
        return np.zeros(values.size, dtype=np.int64), np.zeros(values.size), 2
    clipped = np.clip(values, at[0], at[-1])
    below = np.clip(np.searchsorted(at, clipped, side="right") - 1, 0, at.size - 2)
    return below.astype(np.int64), (clipped - at[below]) / (at[below + 1] - at[below]), at.size
