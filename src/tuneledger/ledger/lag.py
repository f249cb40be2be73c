"""By how much one channel is logged later than another that it follows.

Two channels of one ECU often reach the log some samples apart. Where both move fast, that alone
makes a difference of many degrees, so the lag is measured first and taken out.
"""

from dataclasses import dataclass

import numpy as np

from tuneledger.arrays import FloatArray, IntArray

# Rows before and after over which a movement is measured: long enough to stand out from rounding,
# short enough that corrections switching in between touch few of them.
_REACH = 3
_EARLIEST, _LATEST = -2.0, 6.0
_COARSE, _FINE = 0.25, 0.05
_MOST_ROWS = 4000
# So many rows tell by themselves; fewer only where a row sooner or later fits twice as badly.
_ENOUGH_ROWS, _FEWEST_ROWS = 25, 8
_CLEAR, _ALIKE = 2.0, 1.01
# Corrections that come and go spoil some rows; the calmer part decides.
_KEPT = 0.6


@dataclass(frozen=True, slots=True)
class Lag:
    """`rows`: how many rows late, 0 where not `sure`: the log moves too little to tell."""

    rows: float
    sure: bool


def estimate_lag(reference: FloatArray, late: FloatArray, *, step: float) -> Lag:
    """The lag of `late` behind `reference`, both on the same evenly spaced rows, in rows.

    step: the coarser quantisation of the two, so that rounding is not taken for movement.
    NaN rows are left out. A constant or slowly changing offset between the two plays no part:
    only how their movements line up does.
    """
    rows = _rows_that_move(reference, late, step)
    if rows.size < _FEWEST_ROWS:
        return Lag(0.0, sure=False)
    movement = reference[rows + _REACH] - reference[rows - _REACH]
    lags = np.arange(_EARLIEST, _LATEST + _COARSE / 2, _COARSE)
    costs = np.array([_misfit(movement, late, rows, lag) for lag in lags])
    coarse = float(lags[_nearest_best(lags, costs)])
    if not _told(lags, costs, coarse, rows.size, step):
        return Lag(0.0, sure=False)
    lags = coarse + np.arange(-_COARSE, _COARSE + _FINE / 2, _FINE)
    costs = np.array([_misfit(movement, late, rows, lag) for lag in lags])
    fine = float(lags[_nearest_best(lags, costs)])
    return Lag(0.0 if abs(fine) < _FINE * 1.5 else round(fine, 3), sure=True)


def _nearest_best(lags: FloatArray, costs: FloatArray) -> int:
    """The index of the least cost; of several as good, of the shortest lag."""
    return int(np.lexsort((np.abs(lags), np.round(costs, 6)))[0])


def _told(lags: FloatArray, costs: FloatArray, best: float, rows: int, step: float) -> bool:
    """Whether the rows tell a lag at all. What stands still or lives its own life fits none."""
    least = float(costs.min())
    if not np.isfinite(least) or costs.max() <= _ALIKE * least:
        return False
    if rows >= _ENOUGH_ROWS:
        return True
    beside = costs[np.isclose(np.abs(lags - best), 1.0)].min(initial=np.inf)
    return bool(beside > _CLEAR * least + 0.1 * step)


def shifted(values: FloatArray, rows: float) -> FloatArray:
    """`values` read `rows` rows later: takes out a lag. NaN where either neighbour is missing."""
    if rows == 0.0:
        return values.copy()
    at = np.arange(values.size, dtype=np.float64) + rows
    below = np.floor(at).astype(np.int64)
    share = at - below
    inside = (below >= 0) & (below + (share > 0) < values.size)
    below = np.clip(below, 0, values.size - 1)
    above = np.clip(below + 1, 0, values.size - 1)
    out: FloatArray = np.where(
        share == 0, values[below], (1 - share) * values[below] + share * values[above]
    )
    out[~inside] = np.nan
    return out


def _rows_that_move(reference: FloatArray, late: FloatArray, step: float) -> IntArray:
    """Rows around which the reference moves well beyond rounding, at most `_MOST_ROWS` of them."""
    margin = _REACH + int(np.ceil(_LATEST)) + 1
    if reference.size <= 2 * margin:
        return np.empty(0, dtype=np.int64)
    rows = np.arange(margin, reference.size - margin)
    moved = np.abs(reference[rows + _REACH] - reference[rows - _REACH])
    usable = (moved > max(1.0, 4.0 * step)) & np.isfinite(late[rows])
    chosen = rows[usable]
    if chosen.size > _MOST_ROWS:
        chosen = chosen[np.linspace(0, chosen.size - 1, _MOST_ROWS).astype(np.int64)]
    return chosen.astype(np.int64)


def _misfit(movement: FloatArray, late: FloatArray, rows: IntArray, lag: float) -> float:
    around = rows.astype(np.float64) + lag
    gap = np.abs(_at(late, around + _REACH) - _at(late, around - _REACH) - movement)
    gap = np.sort(gap[np.isfinite(gap)])
    kept = gap[: max(1, int(gap.size * _KEPT))]
    return float(kept.mean()) if kept.size else np.inf


def _at(values: FloatArray, index: FloatArray) -> FloatArray:
    below = np.floor(index).astype(np.int64)
    share = index - below
    above: FloatArray = (1 - share) * values[below] + share * values[below + 1]
    return above
