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
# The difference is compared with itself so much later.
_STRETCH_S = 0.1
# Lags up to here must not do nearly as well, if they lie so far from the one that is found.
_WATCHED_S, _APART_S, _GRAIN_S = 3.0, 0.25, 0.03
_ALIKE, _AS_CALM = 1.6, 0.15


def far_lag(
    reference: FloatArray,
    late: FloatArray,
    *,
    steps: tuple[float | None, float | None],
    row_s: float,
) -> Lag:
    """The lag of `late` behind `reference` in rows, up to a second either way; see `estimate_lag`.

    steps: the quantisation steps of the two, None where there is none
    Not sure where no lag makes the difference of the two calmer by half than it is without any, and
    where lags far apart from each other do.
    """
    if row_s <= 0:
        return Lag(0.0, sure=False)
    unrest = Unrest(steps, row_s)
    before = unrest.of(late - reference)
    best, calmest = Lag(0.0, sure=False), _CALM * before
    step = max((s for s in steps if s), default=0.0)
    for rows in _tried(round(_FURTHEST_S / row_s)):
        beside = estimate_lag(reference, shifted(late, float(rows)), step=step)
        total = rows + beside.rows
        if not beside.sure or abs(total) * row_s > _FURTHEST_S:
            continue
        left = unrest.of(shifted(late, total) - reference)
        if left < calmest:
            best, calmest = Lag(total, sure=True), left
    if not best.sure:
        return best
    alike = max(_ALIKE * calmest, _AS_CALM * before)
    again = _elsewhere(reference, late, best.rows, unrest) <= alike
    return Lag(0.0, sure=False) if again else best


def _elsewhere(reference: FloatArray, late: FloatArray, rows: float, unrest: "Unrest") -> float:
    """The least that is left of the to and fro at any lag well apart from the one found."""
    row_s = unrest.row_s
    lags = np.arange(-_WATCHED_S / row_s, _WATCHED_S / row_s, max(0.5, _GRAIN_S / row_s))
    lags = rows + np.round(2.0 * lags) / 2.0
    apart = lags[np.abs(lags - rows) * row_s > _APART_S]
    return min((unrest.of(shifted(late, at) - reference) for at in apart.tolist()), default=np.inf)


def _tried(most: int) -> Iterator[int]:
    yield 0
    for rows in range(_STRIDE, most + 1, _STRIDE):
        yield rows
        yield -rows


class Unrest:
    """How much a difference runs to and fro, beyond what the rounding of the two makes of it.

    Two channels in unlike steps differ by ever other amounts although one follows the other; a
    change counts only as far as it is larger than that, so it is looked at over a stretch in which
    the map can have moved by more.
    """

    def __init__(self, steps: tuple[float | None, float | None], row_s: float) -> None:
        self.row_s = row_s
        one, other = (step or 0.0 for step in steps)
        unlike = abs(one - other) > 0.01 * max(one, other)
        self._rounding = one + other if unlike else max(one, other)
        self._rows = max(1, round(_STRETCH_S / row_s))

    def of(self, difference: FloatArray) -> float:
        """Degrees, on average."""
        change = np.abs(difference[self._rows :] - difference[: -self._rows])
        known = change[np.isfinite(change)]
        return float(np.maximum(known - self._rounding, 0.0).mean()) if known.size else np.inf
