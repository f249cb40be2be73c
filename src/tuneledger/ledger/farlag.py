"""A lag longer than those that are looked for at first: two devices put into one log, say.

Up to a second either way is tried in steps, and the same bends decide. Where two channels are laid
over each other rightly, their difference changes only where a correction comes or goes; anywhere
else it runs to and fro with the map. A long lag is believed only if it makes most of that vanish,
and no other lag does as well: what swings evenly, like an idle that hunts, fits again a period on.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.ledger.lag import Lag, estimate_lag, shifted

_FURTHEST_S = 1.0
# What is left of the to and fro at the right lag, at most.
_CALM = 0.5
_STRIDE = 6
# Lags up to here must not do nearly as well, if they lie so far from the one that is found.
_WATCHED_S, _APART_S, _GRAIN_S = 3.0, 0.25, 0.03
_ALIKE, _AS_CALM = 1.6, 0.15


def far_lag(reference: FloatArray, late: FloatArray, *, step: float, row_s: float) -> Lag:
    """The lag of `late` behind `reference` in rows, up to a second either way; see `estimate_lag`.

    Not sure where no lag makes the difference of the two calmer by half than it is without any, and
    where lags far apart from each other do.
    """
    if row_s <= 0:
        return Lag(0.0, sure=False)
    before = _unrest(late - reference)
    best, calmest = Lag(0.0, sure=False), _CALM * before
    for rows in _tried(round(_FURTHEST_S / row_s)):
        beside = estimate_lag(reference, shifted(late, float(rows)), step=step)
        total = rows + beside.rows
        if not beside.sure or abs(total) * row_s > _FURTHEST_S:
            continue
        left = _unrest(shifted(late, total) - reference)
        if left < calmest:
            best, calmest = Lag(total, sure=True), left
    if not best.sure:
        return best
    alike = max(_ALIKE * calmest, _AS_CALM * before)
    again = _elsewhere(reference, late, best.rows, row_s) <= alike
    return Lag(0.0, sure=False) if again else best


def _elsewhere(reference: FloatArray, late: FloatArray, rows: float, row_s: float) -> float:
    """The least that is left of the to and fro at any lag well apart from the one found."""
    lags = np.arange(-_WATCHED_S / row_s, _WATCHED_S / row_s, max(0.5, _GRAIN_S / row_s))
    lags = rows + np.round(2.0 * lags) / 2.0
    apart = lags[np.abs(lags - rows) * row_s > _APART_S]
    return min((_unrest(shifted(late, at) - reference) for at in apart.tolist()), default=np.inf)


def _tried(most: int) -> Iterator[int]:
    for rows in range(_STRIDE, most + 1, _STRIDE):
        yield rows
        yield -rows


def _unrest(difference: FloatArray) -> float:
    """How much a difference runs to and fro, degrees per row."""
    change = np.abs(np.diff(difference))
    known = change[np.isfinite(change)]
    return float(known.mean()) if known.size else np.inf
