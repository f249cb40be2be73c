"""The lag between a channel of few samples and one of many, to a row of the finer one.

At the pace of the slower channel alone, half of it is as good as nothing. But where it has a
sample, the finer one can be read at any row beside it: laid over each other rightly, the difference
of the two changes only where a correction comes or goes; a row off, it changes with every move of
the map.
"""

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.ledger.lag import Lag

# The finer one has so many times the samples of the slower one, at least.
FINER = 2.0
# A change counts for no more degrees than this: there a correction has come or gone.
_MOST_DEG = 1.5
# Half a pace of the slower one away, so much more must change on either side, in parts and degrees.
_SHARPER, _BY_DEG = 1.25, 0.005
_FEWEST = 50


def fine_lag(
    slow: FloatArray,
    own: IntArray,
    fine: FloatArray,
    lags: FloatArray,
    *,
    pace: float,
    sign: float,
) -> Lag | None:
    """The lag in rows at which the two are calmest; see above.

    own:  rows in which `slow` has samples of its own; pace: rows from one to the next
    fine: in every row, NaN where there is none
    lags: those that are tried, rising evenly; sign: 1 where `fine` is the later one, else -1
    None where none does clearly better than those half a pace away, or the best is the last one.
    """
    if own.size < _FEWEST or lags.size < 3:
        return None
    changes = np.array([_change(slow, own, fine, sign * lag) for lag in lags.tolist()])
    best = int(changes.argmin())
    reach = max(1, round(0.5 * pace / (lags[1] - lags[0])))
    before, behind = max(0, best - reach), best + reach
    if best == 0 or behind >= lags.size:
        return None
    least = max(_SHARPER * changes[best], changes[best] + _BY_DEG)
    if min(changes[before], changes[behind]) < least:
        return None
    return Lag(float(lags[best]), sure=True)


def _change(slow: FloatArray, own: IntArray, fine: FloatArray, rows: float) -> float:
    """By how much the difference of the two changes from one sample to the next, on average."""
    at = own + rows
    inside = (at >= 0) & (at <= fine.size - 1)
    below = np.floor(at[inside]).astype(np.int64)
    share = at[inside] - below
    above = np.minimum(below + 1, fine.size - 1)
    read = (1.0 - share) * fine[below] + share * np.where(share > 0, fine[above], 0.0)
    change = np.abs(np.diff(read - slow[own[inside]]))
    known = change[np.isfinite(change)]
    return float(np.minimum(known, _MOST_DEG).mean()) if known.size >= _FEWEST else np.inf
