"""Readings that do not belong to the line of the others: a slipped mark, a digit turned round.

Two steps. A line that half of the points decide alone (least median of squares, Rousseeuw, JASA 79,
1984) says which points are suspect, since an ordinary fit may be drawn so far by two bad readings
that neither stands out. Each suspect is then put to the ordinary test: would the line of the
others, with its own uncertainty, expect a point so far off (the deletion t-test, with Bonferroni's
correction; Cook and Weisberg, Residuals and Influence in Regression, 1982)? Those that pass return.
"""

from itertools import combinations

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.light.line import Line, fit_line
from tuneledger.light.student import two_sided

# How often a set of good readings may have one flagged.
_FALSE_ALARM = 0.02
# A light is read to half a degree at best (common practice, no source): closer is luck.
_READ_TO_DEG = 0.25
_SUSPECT = 2.5
_FEWEST = 5
_MOST_PAIRS = 4000


def outliers(x: FloatArray, y: FloatArray) -> BoolArray:
    """Which points do not belong. Never more than half, and none of fewer than five."""
    flagged = np.zeros(x.shape, dtype=np.bool_)
    if x.size < _FEWEST or np.unique(x).size < 2:
        return flagged
    left = np.abs(y - _median_line(x, y))
    keep = int(np.ceil(0.5 * x.size)) + 1
    scale = max(1.4826 * (1 + 5 / (x.size - 2)) * float(np.median(left)), _READ_TO_DEG)
    suspects = np.argsort(-left, kind="stable")[: x.size - keep]
    flagged[[i for i in suspects if left[i] > _SUSPECT * scale]] = True
    while flagged.any():
        line = fit_line(x[~flagged], y[~flagged])
        if line is None or line.freedom < 1:
            return np.zeros(x.shape, dtype=np.bool_)
        rows = np.flatnonzero(flagged)
        off = _off(line, x[rows], y[rows])
        nearest = int(np.argmin(off))
        if off[nearest] > two_sided(1.0 - _FALSE_ALARM / x.size, line.freedom):
            break
        flagged[rows[nearest]] = False
    return flagged


def _off(line: Line, x: FloatArray, y: FloatArray) -> FloatArray:
    """How far off points are, in standard errors of a new point of the line."""
    scale = max(line.residual, _READ_TO_DEG)
    off: FloatArray = np.abs(y - line.at(x)) / (scale * np.sqrt(1.0 + line.leverage(x)))
    return off


def _median_line(x: FloatArray, y: FloatArray) -> FloatArray:
    """The line through two of the points that has the least median of squared residuals."""
    pairs = np.array([p for p in combinations(range(x.size), 2) if x[p[0]] != x[p[1]]])
    if len(pairs) > _MOST_PAIRS:
        pairs = pairs[np.linspace(0, len(pairs) - 1, _MOST_PAIRS).astype(np.int64)]
    one, other = pairs[:, 0], pairs[:, 1]
    slopes = (y[other] - y[one]) / (x[other] - x[one])
    starts = y[one] - slopes * x[one]
    left = np.abs(y[np.newaxis] - starts[:, np.newaxis] - slopes[:, np.newaxis] * x[np.newaxis])
    best = int(np.argmin(np.median(left, axis=1)))
    best_line: FloatArray = starts[best] + slopes[best] * x
    return best_line
