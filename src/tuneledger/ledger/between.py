"""The lag between two channels that may be slower than their file: measured at true samples only.

What a logger writes between two samples, held values or straight lines, moves with its own pace and
not with the engine. So both are read at the pace of the slower one, where it has its samples.
"""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.ledger.farlag import far_lag
from tuneledger.ledger.finelag import FINER, fine_lag
from tuneledger.ledger.lag import Lag, estimate_lag
from tuneledger.logs.samples import Samples, at_samples, find_samples
from tuneledger.logs.steps import quantisation_step
from tuneledger.record import record

# How late and how early delivered may be logged: two channels polled in turn, or a slow gateway.
_LATEST_S = 0.2
_EARLIEST_S = 0.05
# A lag further off is looked for where the two differ by more than so many degrees, and by more
# than so many times what rounding does.
_FAR_DEG, _FAR = 0.45, 2.0
# A lag further off is looked for in rows that are no closer together.
_FAR_PACE_S = 0.02


@record(eq=False)
class Curve:
    """One of the two on the rows of the file.

    raw:    as logged, NaN where there is nothing; joined: own samples joined by straight lines
    samples: which rows hold a sample of its own; None: it is worked out for every row
    step:   the quantisation step, None where there is none
    """

    raw: FloatArray
    joined: FloatArray
    samples: Samples | None
    step: float | None

    @property
    def sparse(self) -> bool:
        return self.samples is not None and self.samples.sparse


def logged_curve(raw: FloatArray, scale: float = 1.0) -> Curve:
    """A logged channel as a curve.

    scale: degrees per number of the file. The step is looked for in those: degrees that were
    rounded in radians lie on no grid.
    """
    samples = find_samples(raw)
    step = None  # a logger's straight lines may have hidden it
    if samples.exact:
        found = quantisation_step((raw[samples.own] if samples.sparse else raw) / scale)
        step = None if found is None else found * abs(scale)
    return Curve(raw, at_samples(raw, samples.own) if samples.sparse else raw, samples, step)


def lag_between(start: Curve, delivered: Curve, row_s: float) -> Lag:
    """The lag of delivered behind the start, in rows of the file."""
    steps = (start.step, delivered.step)
    step = max((s for s in steps if s), default=0.0)
    fine = _fine(start, delivered, row_s)
    if fine is not None:
        return fine
    slower = max((c.samples for c in (start, delivered) if c.samples), key=lambda s: s.every)
    first, stride = (int(np.argmax(slower.own)), slower.every) if slower.sparse else (0, 1.0)
    one = _thinned(start.joined, first, stride)
    other = _thinned(delivered.joined, first, stride)
    pace_s = row_s * stride
    lag = estimate_lag(one, other, step=step, latest=_LATEST_S / pace_s if pace_s else 0.0)
    if not lag.sure and pace_s and _far_apart(one, other, steps):
        # Rounding hides a bend that is seen over a few milliseconds only.
        slowed = max(1.0, np.floor(_FAR_PACE_S / pace_s + 1e-6))
        one, other = _thinned(one, 0, slowed), _thinned(other, 0, slowed)
        stride *= slowed
        lag = far_lag(one, other, steps=steps, row_s=pace_s * slowed)
    return Lag(lag.rows * stride, sure=lag.sure)


def _fine(start: Curve, delivered: Curve, row_s: float) -> Lag | None:
    """The lag where one of the two has many more samples than the other, if that tells it."""
    if start.samples is None or delivered.samples is None or row_s <= 0:
        return None
    apart = [c.samples.every if c.samples and c.sparse else 1.0 for c in (start, delivered)]
    if max(apart) < FINER * min(apart):
        return None
    late = apart[0] > apart[1]
    slow, fine = (start, delivered.joined) if late else (delivered, start.joined)
    holds = start.samples.own if late else delivered.samples.own
    own = np.flatnonzero(holds & np.isfinite(slow.joined))
    lags = np.arange(-np.ceil(_EARLIEST_S / row_s), np.ceil(_LATEST_S / row_s) + 0.1, 0.5)
    return fine_lag(slow.joined, own, fine, lags, pace=max(apart), sign=1.0 if late else -1.0)


def _thinned(values: FloatArray, first: int, stride: float) -> FloatArray:
    """The values in one row of so many, from the first on."""
    if stride == 1.0:
        return values
    return values[np.round(np.arange(first, values.size - 0.5, stride)).astype(np.int64)]


def _far_apart(
    start: FloatArray, delivered: FloatArray, steps: tuple[float | None, float | None]
) -> bool:
    """Whether the two differ, and by ever other amounts, as those do that are laid over wrongly."""
    apart = delivered - start
    rounding = np.sqrt(sum((step or 0.0) ** 2 for step in steps) / 12.0)
    known = bool(np.isfinite(apart).any())
    return known and bool(np.nanstd(apart) > max(_FAR_DEG, _FAR * rounding))
