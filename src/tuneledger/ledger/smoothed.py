"""A delivered advance that a logger, or the ECU, has smoothed: told by what it makes of every move.

A low pass and a running mean flatten every bend alike, up and down, small and large, whatever the
engine does. Nothing that an ECU takes or adds does that. So it is believed only where scheduled,
smoothed so, leaves next to nothing of the to and fro between the two.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.ledger.farlag import Unrest
from tuneledger.ledger.lag import Lag, shifted
from tuneledger.record import record

_PACE_S, _MOST_ROWS = 0.02, 20_000
# Of the to and fro at most so much may be left; a first look at one mean has to take so much away.
_PLAIN, _WORTH_A_LOOK, _LOOK_S = 0.3, 0.85, 0.2
# With less than this the two follow each other as they are, degrees on average over 0.1 s.
_LEAST_UNREST = 0.005
_LENGTHS_S = tuple(0.04 * 1.35**n for n in range(13))
_FINER = (0.85, 0.92, 1.0, 1.08, 1.16)
# How late delivered may be where its lag is not known yet.
_LATEST_S = 0.4
# How many time constants of a low pass are carried on.
_TAILS = 6.0


@record
class Smoothing:
    """lasts_s: the time constant of a low pass, or how long a running mean is, in seconds."""

    low_pass: bool
    lasts_s: float

    def of(self, values: FloatArray, row_s: float) -> FloatArray:
        """The values smoothed so, evenly spaced by `row_s`; NaN where they are."""
        known = np.isfinite(values)
        if not known.any():
            return values
        rows = np.arange(values.size)
        filled = values if known.all() else np.interp(rows, rows[known], values[known])
        if self.low_pass:
            weights = np.exp(
                -np.arange(1 + int(_TAILS * self.lasts_s / row_s)) * row_s / self.lasts_s
            )
        else:
            weights = np.ones(max(1, round(self.lasts_s / row_s)))
        before = np.full(weights.size - 1, filled[0])
        out = np.convolve(np.concatenate([before, filled]), weights / weights.sum(), mode="valid")
        return np.where(known, out, np.nan)


def find_smoothing(
    start: FloatArray,
    delivered: FloatArray,
    lag: Lag,
    steps: tuple[float | None, float | None],
    row_s: float,
) -> Smoothing | None:
    """How delivered was smoothed, where the log shows it plainly; else None.

    start, delivered: on the same evenly spaced rows; lag: of delivered as it stands, in rows
    steps: the quantisation steps of the two, None where there is none
    """
    if row_s <= 0:
        return None
    stride = max(1, int(_PACE_S / row_s + 1e-6))
    one, other = start[::stride][:_MOST_ROWS], delivered[::stride][:_MOST_ROWS]
    pace_s = row_s * stride
    unrest = Unrest(steps, pace_s)
    late = round(lag.rows / stride)
    first, last = (late - 1, late + 1) if lag.sure else (-1, round(_LATEST_S / pace_s))
    plain = min(unrest.of(shifted(other, float(at)) - one) for at in range(first, last + 1))
    if not plain > _LEAST_UNREST:
        return None

    def left(smoothing: Smoothing) -> float:
        smooth = smoothing.of(one, pace_s)
        lags = range(first - round(1.5 * smoothing.lasts_s / pace_s), last + 1)
        return min(unrest.of(shifted(other, float(at)) - smooth) for at in lags)

    if left(Smoothing(False, _LOOK_S)) > _WORTH_A_LOOK * plain:
        return None
    best = min(_tried(), key=left)
    best = min((Smoothing(best.low_pass, best.lasts_s * x) for x in _FINER), key=left)
    return best if left(best) <= _PLAIN * plain else None


def _tried() -> Iterator[Smoothing]:
    for lasts_s in _LENGTHS_S:
        yield Smoothing(True, lasts_s)
        yield Smoothing(False, 2.0 * lasts_s)
