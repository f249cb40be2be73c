"""Delivered laid over what it starts from: lag taken out, smoothing allowed for, slack counted."""

from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.ledger.between import Curve, lag_between
from tuneledger.ledger.lag import Lag, realigned
from tuneledger.ledger.smoothed import Smoothing, find_smoothing
from tuneledger.ledger.tolerance import slack, tolerance
from tuneledger.record import record

# Smoothing is looked for where at least so many rows lie beyond tolerance and slack.
_BEYOND = 0.005


@record(eq=False)
class LaidOver:
    """The two on one time base, a row per row of the file.

    start:     what delivered is held against, smoothed as delivered is
    delivered: lag removed; NaN where it has no sample
    own:       rows in which delivered has a sample of its own
    slack:     degrees per row by which they may be off for lag and slope
    """

    start: FloatArray
    delivered: FloatArray
    own: BoolArray
    lag: Lag
    tolerance: float
    slack: FloatArray
    smoothing: Smoothing | None = None


def lay_over(
    start: Curve,
    delivered: Curve,
    row_s: float,
    *,
    may_smooth: bool,
    smoothing: Smoothing | None = None,
) -> LaidOver:
    """Lay delivered over the start.

    row_s: seconds from one row to the next
    may_smooth: whether smoothing is looked for, where every row is a sample of both
    smoothing: how delivered is known to be smoothed
    """
    if smoothing is not None:
        return _laid_smoothed(start, delivered, row_s, smoothing)
    plain = _laid(start, delivered, row_s)
    if not may_smooth or start.sparse or delivered.sparse:
        return plain
    apart = np.abs(plain.delivered - plain.start) > plain.tolerance + plain.slack
    if apart.mean() < _BEYOND:
        return plain
    steps = (start.step, delivered.step)
    found = find_smoothing(start.joined, delivered.joined, plain.lag, steps, row_s)
    return plain if found is None else _laid_smoothed(start, delivered, row_s, found)


def _laid_smoothed(start: Curve, delivered: Curve, row_s: float, smoothing: Smoothing) -> LaidOver:
    smooth = replace(start, joined=smoothing.of(start.joined, row_s))
    return replace(_laid(smooth, delivered, row_s), smoothing=smoothing)


def _laid(start: Curve, delivered: Curve, row_s: float) -> LaidOver:
    limit = tolerance(start.step, delivered.step)
    lag = lag_between(start, delivered, row_s)
    values, own = _without_lag(delivered, lag, start.joined, limit)
    spare = slack(
        start.joined,
        values,
        start_own=start.samples.own if start.samples and start.sparse else None,
        own=own if delivered.sparse else None,
        unmeasured_row_s=None if lag.sure else row_s,
    )
    return LaidOver(start.joined, values, own, lag, limit, spare)


def _without_lag(
    delivered: Curve, lag: Lag, start: FloatArray, limit: float
) -> tuple[FloatArray, BoolArray]:
    """Delivered at the time at which it was true, and the rows that hold a sample of it.

    A channel with a sample in every row is read between its samples; a slower one keeps its
    samples as they are and only moves by whole rows, since between them nothing is known.
    """
    raw = delivered.raw
    if delivered.samples is None or not delivered.sparse:
        moved = realigned(raw, lag.rows, step=2.0 * limit, along=start)
        return moved, np.isfinite(moved)
    moved, held = np.full(raw.shape, np.nan), np.zeros(raw.shape, dtype=np.bool_)
    source = np.flatnonzero(delivered.samples.own)
    target = source - round(lag.rows)
    inside = (target >= 0) & (target < raw.size)
    moved[target[inside]] = raw[source[inside]]
    held[target[inside]] = True
    return moved, held
