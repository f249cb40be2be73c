"""By how much one channel is logged later than another that it follows.

Two channels of one ECU often reach the log some samples apart. Where both move fast, that alone
makes a difference of many degrees, so the lag is measured first and taken out.

A steady rise tells no lag: late by a row and less by a degree look the same, and a correction that
acts along the map's own axes is just such a degree. Only bends tell: where the reference turns, the
other must turn as well, a lag later, whatever stands between the two and however much steeper or
flatter one of them is. So every bend is a witness of its own, with a level and a slope of its own,
and what they say together has to be narrow enough to be a measurement.
"""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.record import record

# Lags that are tried, in rows: how early, and how late at least and at most. A log of many rows a
# second is tried further, since what comes late does so by its own pace and not by the log's.
_EARLIEST, _LATEST, _FURTHEST = -2.0, 6.0, 20.0
# Rows on either side from which a bend is seen, and over which the two are compared: a fast log
# shows a bend only from further away.
_SCALES = ((3, 8), (8, 20))
_MOST_BENDS = 150
_LEAST_BEND_DEG, _LEAST_BEND_STEPS = 1.0, 3.0
# Where the same bend is steeper or flatter by more than this, it is another one.
_FLATTEST, _STEEPEST = 0.6, 1.5
# No bend counts for more nats than this: at one of them a correction may have switched.
_MOST_SAID = 12.0
# Rows that follow each other say half as much as if each stood alone.
_INDEPENDENT = 0.5
# Lags within so many nats of the likeliest are as good; they may lie this far apart, in rows.
_AS_GOOD, _WIDEST = 3.0, 1.0
_NONE = 0.15
# A step is so much larger than the changes on either side of it.
_ALONE = 3.0


@record
class Lag:
    """`rows`: how many rows late; 0 where not `sure`, since the log does not tell."""

    rows: float
    sure: bool


def estimate_lag(
    reference: FloatArray, late: FloatArray, *, step: float, latest: float = _LATEST
) -> Lag:
    """The lag of `late` behind `reference`, both on the same evenly spaced rows, in rows.

    step: the coarser quantisation of the two, so that rounding is not taken for movement.
    latest: how many rows of lag to look for; at least 6 and at most 20 are.
    NaN rows are left out. Neither an offset between the two nor a gain plays a part, so far as they
    change slowly: only where the two bend does. Not sure where no bend tells, where bends
    contradict each other, and where the likeliest lag lies at the end of those that are tried.
    """
    latest = min(max(np.ceil(latest), _LATEST), _FURTHEST)
    lags = np.round(np.arange(_EARLIEST, latest + 0.05, 0.1), 1)
    said = np.zeros(lags.size)
    for near, far in _SCALES:
        said += _said(reference, late, step, (near, far), lags)
    good = lags[said <= said.min() + _AS_GOOD]
    low, high = float(good[0]), float(good[-1])
    if low <= lags[0] or high >= lags[-1] or high - low > _WIDEST:
        return Lag(0.0, sure=False)
    rows = float(lags[int(np.argmin(said))])
    return Lag(rows if abs(rows) > _NONE else 0.0, sure=True)


def shifted(values: FloatArray, rows: float) -> FloatArray:
    """`values` read `rows` rows later: takes out a lag. NaN where either neighbour is missing."""
    if rows == round(rows):
        return _by_whole_rows(values, round(rows))
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


def _by_whole_rows(values: FloatArray, rows: int) -> FloatArray:
    """The same by a whole number of rows, between which nothing has to be read."""
    out = np.full(values.shape, np.nan)
    if rows >= 0:
        out[: max(values.size - rows, 0)] = values[rows:]
    else:
        out[-rows:] = values[:rows]
    return out


def realigned(
    values: FloatArray, rows: float, *, step: float, along: FloatArray | None = None
) -> FloatArray:
    """`values` read `rows` rows later, as by `shifted`, but steps stay steps.

    Between two samples of which one lies before a step and the other behind it, the straight line
    reads what never was. There the nearer sample counts, carried on by what `values` runs along.

    step:  changes up to this size are none
    along: what `values` follows apart from its steps, at the time at which it is true; where that
           is NaN, steps are not known
    """
    moved = shifted(values, rows)
    below = int(np.floor(rows))
    share = rows - below
    if share == 0.0:
        return moved
    path = np.zeros(values.shape) if along is None else along
    apart = values - shifted(path, -rows)
    size = np.nan_to_num(np.abs(np.diff(apart)))
    beside = np.maximum(np.append(size[1:], 0.0), np.append(0.0, size[:-1]))
    steps = np.flatnonzero((size > step) & (size > _ALONE * beside))
    at = steps - below
    inside = (at >= 0) & (at < values.size)
    steps, at = steps[inside], at[inside]
    nearer = path[at] + apart[steps + (share >= 0.5)]
    moved[at] = np.where(np.isnan(nearer), moved[at], nearer)
    return moved


def _said(
    reference: FloatArray, late: FloatArray, step: float, scale: tuple[int, int], lags: FloatArray
) -> FloatArray:
    """What all bends of one scale together say against each lag, nats; 0 where none says a thing.

    A bend that no lag fits has little to say.
    """
    near, far = scale
    margin = far + int(lags[-1]) + 2
    rows = np.array(list(_bends(reference, step, near, far, margin)), dtype=np.int64)
    if rows.size == 0:
        return np.zeros(lags.size)
    costs = _misfits(reference, late, rows, far, lags, step)
    costs = costs[:, np.isfinite(costs).all(axis=0)]
    least = costs.min(axis=0, initial=np.inf)
    fits = np.exp(-least / (2 * far + 1))
    said = fits * np.minimum(_INDEPENDENT * (costs - least), _MOST_SAID)
    return np.asarray(said.sum(axis=1), dtype=np.float64)


def _bends(reference: FloatArray, step: float, near: int, far: int, margin: int) -> Iterator[int]:
    """Rows at which the reference bends well beyond rounding, sharpest first, apart by `far`.

    margin: rows at either end of the log that are left out
    """
    rows = np.arange(margin, reference.size - margin)
    if rows.size == 0:
        return
    bend = reference[rows + near] - 2.0 * reference[rows] + reference[rows - near]
    bend = np.abs(np.nan_to_num(bend))
    sharp = np.flatnonzero(bend >= max(_LEAST_BEND_DEG, _LEAST_BEND_STEPS * step))
    order = sharp[np.argsort(-bend[sharp], kind="stable")]
    taken: BoolArray = np.zeros(reference.size, dtype=np.bool_)
    found = 0
    for row in rows[order].tolist():
        if taken[row]:
            continue
        taken[row - far : row + far + 1] = True
        yield row
        found += 1
        if found == _MOST_BENDS:
            return


def _misfits(
    reference: FloatArray, late: FloatArray, rows: IntArray, far: int, lags: FloatArray, step: float
) -> FloatArray:
    """Nats per lag and bend for `late` read so much later, at the level and slope that suit best.

    Rounding of both is what may be left; reading between two rows averages some of it away. What
    is read there lies on the straight line between them, so that its products with itself and with
    the reference follow from those at whole rows.
    """
    around = rows[:, None] + np.arange(-far, far + 1)
    one = _centred(reference[around])
    below = np.floor(lags).astype(np.int64)
    first = int(below[0])
    whole = [_centred(late[around + row]) for row in range(first, int(below[-1]) + 2)]
    with_one = np.array([(one * other).sum(axis=1) for other in whole])
    with_self = np.array([(other**2).sum(axis=1) for other in whole])
    with_next = np.array([(a * b).sum(axis=1) for a, b in pairwise(whole)])

    at, share = below - first, (lags - below)[:, None]
    rest = 1.0 - share
    squares = rest**2 * with_self[at] + 2.0 * rest * share * with_next[at]
    squares += share**2 * with_self[at + 1]
    product = rest * with_one[at] + share * with_one[at + 1]
    own = (one**2).sum(axis=1)
    gain = np.clip(product / np.maximum(own, 1e-9), _FLATTEST, _STEEPEST)
    left = np.maximum(squares - 2.0 * gain * product + gain**2 * own, 0.0) / around.shape[1]
    rounding = max(step, 0.02) ** 2 / 12.0 * (1.0 + rest**2 + share**2)
    return np.asarray(0.5 * around.shape[1] * np.log1p(left / rounding), dtype=np.float64)


def _centred(values: FloatArray) -> FloatArray:
    return np.asarray(values - values.mean(axis=1, keepdims=True), dtype=np.float64)
