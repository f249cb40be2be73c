"""Two channels that run alike: for how much of the run they agree, and which comes first."""

from collections.abc import Mapping

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.record import record
from tuneledger.roles.relations.common import alike

_HOPELESS, _ALIKE, _AGREE = 0.4, 0.6, 0.15
_CLOSE_DEG, _WIDEST_DEG = 0.3, 1.5
# How far apart a lasting correction may hold the two, and what that counts against agreement.
_FARTHEST_DEG, _BESIDE = 12.0, 0.6
_LAGS = range(-4, 5)
_FEWEST_MOVING = 25


@record
class Pair:
    """Two channels: share of rows in which they agree, correlation, rows by which `b` is late.

    beside: share of rows in which they keep one distance, as under a correction that lasts
    late: whole rows, for laying one over the other; lag: to a quarter of a row
    """

    a: int
    b: int
    agree: float
    beside: float
    likeness: float
    late: int
    lag: float
    tolerance: float

    @property
    def company(self) -> float:
        """How much speaks for the two being of one kind; a lasting distance may be chance."""
        return max(self.agree, _BESIDE * self.beside)


def find_pairs(degrees: Mapping[int, FloatArray], steps: Mapping[int, float]) -> list[Pair]:
    """Every two channels that agree for a part of the run and move alike.

    degrees: candidates on common rows; steps: in which each counts
    """
    channels = list(degrees)
    out = []
    for n, i in enumerate(channels):
        for k in channels[n + 1 :]:
            if alike(degrees[i], degrees[k]) < _HOPELESS:
                continue
            tolerance = min(max(_CLOSE_DEG, 1.01 * steps[i], 1.01 * steps[k]), _WIDEST_DEG)
            pair = _pair(i, k, degrees[i], degrees[k], tolerance)
            if pair.likeness > _ALIKE and pair.company > _AGREE:
                out.append(pair)
    return out


def _pair(i: int, k: int, one: FloatArray, other: FloatArray, tolerance: float) -> Pair:
    """How alike two channels are, and by how many rows the second is late."""
    late = min(_LAGS, key=lambda lag: _apart(one, other, lag))
    gap = np.abs(shifted(other, late) - one)
    own = np.isfinite(gap)
    agree = float((gap[own] <= tolerance).mean()) if own.any() else 0.0
    beside = _beside(shifted(other, late) - one, tolerance)
    lag = _fine_lag(one, other, late)
    return Pair(i, k, agree, beside, alike(one, shifted(other, late)), late, lag, tolerance)


def _beside(apart: FloatArray, tolerance: float) -> float:
    """Share of the run in which two channels keep one distance, where that is not too far."""
    own = apart[np.isfinite(apart)]
    middle = float(np.median(own)) if own.size else np.inf
    if abs(middle) > _FARTHEST_DEG:
        return 0.0
    return float((np.abs(own - middle) <= 2.0 * tolerance).mean())


def _fine_lag(one: FloatArray, other: FloatArray, late: int) -> float:
    """By how many rows the second is late, to a quarter, judged where both move alike."""
    here, back, ahead = (shifted(other, late + n) for n in (0, -1, 1))
    gap = np.abs(here - one)
    moving = np.abs(np.gradient(one)) > 0.15
    rows = np.flatnonzero(moving & np.isfinite(here + back + ahead + one) & (gap < 4.0))
    if rows.size < _FEWEST_MOVING:
        return float(late)

    def off(part: float) -> float:
        beside = ahead if part >= 0 else back
        laid = (1 - abs(part)) * here[rows] + abs(part) * beside[rows]
        # the calmer part decides: corrections that come and go spoil some rows
        return float(np.sort(np.abs(laid - one[rows]))[: int(0.7 * rows.size)].mean())

    parts = (0.0, 0.25, -0.25, 0.5, -0.5, 0.75, -0.75)
    best = min(parts, key=off)
    return late + (best if off(best) < 0.9 * off(0.0) else 0.0)


def shifted(values: FloatArray, late: int) -> FloatArray:
    """Values `late` rows later, NaN at the open end."""
    out = np.full(values.shape, np.nan)
    if late >= 0:
        out[: values.size - late] = values[late:]
    else:
        out[-late:] = values[:late]
    return out


def _apart(one: FloatArray, other: FloatArray, late: int) -> float:
    gap = np.abs(shifted(other, late) - one)
    gap = gap[np.isfinite(gap)]
    return float(np.minimum(gap, 3.0).mean()) + 1e-4 * abs(late) if gap.size else np.inf
