"""Degrees along one channel: found by sorting, fitted with as few points as will do."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray, each_once
from tuneledger.evaluate.lookup import weights_1d
from tuneledger.explain.cost import misfit, row_share
from tuneledger.explain.rules.columns import ODD, Column
from tuneledger.explain.rules.fitted import PER_KNOT
from tuneledger.explain.rules.shape import Shape
from tuneledger.ledger.book import Book

_MOST_ROWS = 2500  # evenly chosen: more only take time, judgement
_NEIGHBOURS = 15
_MOST_KNOTS = 7  # as many points as a curve usually has: judgement
# Bounds on the search, columns, places of a knot and rows: more only take time. Judgement.
_CANDIDATES = 9
_GRID = 24
_MOST_MOVING = 500


def shapes(
    book: Book, left: FloatArray, rows: BoolArray, found: Sequence[Column]
) -> Iterator[Shape]:
    """Shapes along the channels over which what is left is nearest to a function, best first.

    rows: the rows that the shape has to reproduce
    """
    chosen = np.flatnonzero(rows & np.isfinite(left))
    if chosen.size < 3 * _NEIGHBOURS:
        return
    weight = row_share(book) * max(1.0, chosen.size / _MOST_ROWS)
    if chosen.size > _MOST_ROWS:
        chosen = chosen[np.linspace(0, chosen.size - 1, _MOST_ROWS).astype(np.int64)]
    spread = float(np.var(left[chosen]))
    if spread < (0.5 * book.tolerance) ** 2:
        return
    scored = []
    for column in found:
        if column.price >= ODD or (column.levels and len(column.levels) < 3):
            continue
        scatter = _scatter(column.values[chosen], left[chosen])
        if scatter is not None and scatter < 0.5 * spread:
            scored.append((scatter + 1e-3 * spread * column.price, column))
    for _, column in sorted(scored, key=lambda s: s[0])[:_CANDIDATES]:
        shape = _shape(book, column, column.values[chosen], left[chosen], weight)
        if shape is not None:
            yield shape


def _scatter(number: FloatArray, left: FloatArray) -> float | None:
    """How far neighbours along the channel differ: the variance that no function of it explains."""
    known = np.isfinite(number)
    if known.sum() < 3 * _NEIGHBOURS or np.ptp(number[known]) == 0:
        return None
    order = np.argsort(number[known], kind="stable")
    ordered = left[known][order]
    sums = np.concatenate(([0.0], np.cumsum(ordered)))
    squares = np.concatenate(([0.0], np.cumsum(ordered**2)))
    mean = (sums[_NEIGHBOURS:] - sums[:-_NEIGHBOURS]) / _NEIGHBOURS
    power = (squares[_NEIGHBOURS:] - squares[:-_NEIGHBOURS]) / _NEIGHBOURS
    return float(np.median(power - mean**2) + 0.1 * np.mean(power - mean**2))


def _shape(
    book: Book, column: Column, number: FloatArray, left: FloatArray, weight: float
) -> Shape | None:
    """A broken line with as many points as pay for themselves.

    weight: how much each row counts
    """
    known = np.isfinite(number)
    number, left = number[known], left[known]
    grid = each_once(np.quantile(number, np.linspace(0.0, 1.0, _GRID)))
    if grid.size < 2:
        return None
    deg = _least_squares(grid, number, left)
    best: tuple[float, Shape] | None = None
    for keep in _knots(grid, deg, 0.1 * book.tolerance):
        at = grid[keep]
        shape = Shape(column, at, _least_squares(at, number, left))
        miss = np.abs(left - np.interp(number, shape.at, shape.deg)) / book.tolerance
        cost = weight * float(misfit(miss).sum()) + PER_KNOT * at.size
        if best is None or cost < best[0]:
            best = cost, shape
    return best[1] if best else None


def polished(shape: Shape, left: FloatArray, rows: BoolArray) -> Shape:
    """The shape with its inner points moved to where the bends really are.

    Only worth its time for the shape that was chosen.
    """
    chosen = np.flatnonzero(rows & np.isfinite(left) & np.isfinite(shape.column.values))
    few = chosen[np.linspace(0, chosen.size - 1, min(chosen.size, _MOST_MOVING)).astype(np.int64)]
    at = shape.at
    for _ in range(2):
        at = _moved(at, shape.column.values[few], left[few])
    return Shape(shape.column, at, _least_squares(at, shape.column.values[chosen], left[chosen]))


def plain(shape: Shape, left: FloatArray, rows: BoolArray, points: int) -> Shape:
    """The shape with so few points that it follows nothing that came and went meanwhile."""
    chosen = np.flatnonzero(rows & np.isfinite(left) & np.isfinite(shape.column.values))
    number = shape.column.values[chosen]
    grid = each_once(np.quantile(number, np.linspace(0.0, 1.0, _GRID)))
    deg = _least_squares(grid, number, left[chosen])
    keep = next(keep for keep in _knots(grid, deg, 0.0) if len(keep) >= min(points, grid.size))
    at = grid[keep]
    return polished(Shape(shape.column, at, _least_squares(at, number, left[chosen])), left, rows)


def _least_squares(at: FloatArray, number: FloatArray, left: FloatArray) -> FloatArray:
    """Degrees at the points, by least squares with outliers held back.

    A row touches the two points beside it and no other, so that the normal equations have three
    diagonals: they are summed, not multiplied out.
    """
    below, share = weights_1d(at, number)
    above = np.minimum(below + 1, at.size - 1)
    low = np.where(above > below, 1.0 - share, 1.0)
    high = np.where(above > below, share, 0.0)
    trust = np.ones(number.size)
    deg: FloatArray = np.zeros(at.size)
    diagonal = np.arange(at.size)
    for _ in range(3):
        normal = np.diag(_summed(below, trust * low**2, at) + _summed(above, trust * high**2, at))
        beside = _summed(below, trust * low * high, at)[:-1]
        normal[diagonal[:-1], diagonal[1:]] = normal[diagonal[1:], diagonal[:-1]] = beside
        normal[diagonal, diagonal] += 1e-6 * number.size
        right = _summed(below, trust * low * left, at) + _summed(above, trust * high * left, at)
        deg = np.asarray(np.linalg.solve(normal, right), dtype=np.float64)
        miss = np.abs(left - low * deg[below] - high * deg[above])
        trust = 1.0 / np.maximum(1.0, miss / max(3.0 * float(np.median(miss)), 0.1))
    return deg


def _summed(index: IntArray, weight: FloatArray, at: FloatArray) -> FloatArray:
    return np.bincount(index, weights=weight, minlength=at.size).astype(np.float64)


def _knots(at: FloatArray, deg: FloatArray, allowed: float) -> Iterator[list[int]]:
    """Indices of two points, then three and so on: always the one that was missed most is added,
    until a broken line stays within `allowed` of all of them."""
    keep = [0, at.size - 1]
    yield keep
    while len(keep) < _MOST_KNOTS:
        gap = np.abs(np.interp(at, at[keep], deg[keep]) - deg)
        worst = int(gap.argmax())
        if gap[worst] <= allowed:
            return
        keep = sorted({*keep, worst})
        yield keep


def _moved(at: FloatArray, number: FloatArray, left: FloatArray) -> FloatArray:
    """Each inner point moved to where the fit around it comes out best."""
    at = at.copy()
    for i in range(1, at.size - 1):
        tried = np.linspace(at[i - 1], at[i + 1], 13)[2:-2]
        costs = []
        for place in (at[i], *tried):
            trial = at.copy()
            trial[i] = place
            miss = np.abs(left - np.interp(number, trial, _least_squares(trial, number, left)))
            costs.append(float(np.minimum(miss, 1.0).sum()))
        at[i] = (at[i], *tried)[int(np.argmin(costs))]
    return at
