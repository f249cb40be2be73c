"""A lag longer than those that are looked for at first: two devices put into one log, say.

Up to a second either way is tried in steps, and the same bends decide. Where two channels are laid
over each other rightly, their difference changes only where a correction comes or goes; anywhere
else it runs to and fro with the map. A long lag is believed only if it makes most of that vanish.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.ledger.lag import Lag, estimate_lag, shifted

_FURTHEST_S = 1.0
# What is left of the to and fro at the right lag, at most.
_CALM = 0.5
_STRIDE = 6


def far_lag(reference: FloatArray, late: FloatArray, *, step: float, row_s: float) -> Lag:
    """The lag of `late` behind `reference` in rows, up to a second either way; see `estimate_lag`.

    Not sure where no lag makes the difference of the two calmer by half than it is without any.
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
    return best


def _tried(most: int) -> Iterator[int]:
    for rows in range(_STRIDE, most + 1, _STRIDE):
        yield rows
        yield -rows


def _unrest(difference: FloatArray) -> float:
    """How much a difference runs to and fro, degrees per row."""
    change = np.abs(np.diff(difference))
    known = change[np.isfinite(change)]
    return float(known.mean()) if known.size else np.inf
