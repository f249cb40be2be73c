"""Channels that went round: one byte, or two, hold so many steps and then begin anew.

What lies beyond is sent as what is left over: −4.0° in steps of a half comes out as +60.0°, a
whole range of 128 steps above. Where it is put right, all numbers of the channel lie within one
range again.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.logs.steps import quantisation_step
from tuneledger.record import record

# A range holds 2^7 steps (a byte with its sign, or one that counts in halves) up to 2^16.
_POWERS = (7, 8, 9, 10, 12, 15, 16)
# What was in range lies close together, and what went round apart from it, by so much of a range.
_APART = 0.25
_FEWEST, _FEWEST_JUMPS, _SHARE = 20, 2, 0.9
# A leap by a range is far beyond how the channel goes from sample to sample, and with the range
# taken out it is nothing out of the way.
_FAR, _USUAL = 6.0, 3.0
_PACE = 0.98


@record
class Fold:
    """Numbers of a channel that went round: those above `above` stand for so much less.

    span: one range, in the channel's own numbers; steps: how many of its steps that is
    up: it is those below that stand for so much more
    """

    span: float
    above: float
    steps: int
    up: bool = False

    def rows(self, numbers: FloatArray) -> BoolArray:
        """Which numbers went round."""
        return np.asarray(numbers < self.above if self.up else numbers > self.above)

    def unfolded(self, numbers: FloatArray) -> FloatArray:
        """The numbers within one range; NaN stays NaN."""
        by = self.span if self.up else -self.span
        return np.where(self.rows(numbers), numbers + by, numbers)


def candidates(numbers: FloatArray, least: float) -> Iterator[Fold]:
    """Every way in which the upper part of a channel's numbers may have gone round.

    least: no range is smaller
    It stands apart from the lower by a good part of a range, and both together fit into one.
    """
    own = np.unique(numbers[np.isfinite(numbers)])
    if own.size < 2:
        return
    step = quantisation_step(numbers) or 0.0
    gaps = np.diff(own)
    at = int(np.argmax(gaps))
    above = float(own[at] + own[at + 1]) / 2.0
    if step <= 0.0:
        return
    for power in _POWERS:
        span = step * 2**power
        if span >= least and gaps[at] >= _APART * span and own[-1] - own[0] < span + 0.5 * step:
            yield Fold(span, above, 2**power)


def either_way(folds: Iterable[Fold]) -> Iterator[Fold]:
    """Each fold, and the same with the lower part taken up in place of the upper one down."""
    for fold in folds:
        yield fold
        yield replace(fold, up=True)


def by_its_course(numbers: FloatArray, least: float) -> Fold | None:
    """The fold by which a channel goes on without a leap, where as it stands it leaps by a range.

    numbers: the channel's own samples, in order; least: no range is smaller
    Which part went round its course does not say: the upper one is taken to have.
    """
    own = numbers[np.isfinite(numbers)]
    for fold in candidates(own, least):
        high = own > fold.above
        jumps = _jumps(high)
        if jumps.size < _FEWEST_JUMPS:
            continue
        moves = np.diff(own)
        within = np.delete(np.abs(moves), jumps)
        usual = float(np.quantile(within, _PACE)) if within.size else 0.0
        pace = max(usual, 2.0 * fold.span / fold.steps)
        leaps = np.abs(moves[jumps])
        left = np.abs(np.diff(fold.unfolded(own))[jumps])
        if (leaps > _FAR * pace).mean() >= _SHARE and (left <= _USUAL * pace).mean() >= _SHARE:
            return fold
    return None


def by_what_is_given(
    numbers: FloatArray, given: FloatArray, close: float, least: float
) -> Fold | None:
    """The fold by which a channel is what it should be, and as it stands is off by a range.

    given: what it should be, row by row, in the channel's own numbers; close: how far off counts
    """
    for fold in either_way(candidates(numbers, least)):
        rows = fold.rows(numbers) & np.isfinite(given)
        if rows.sum() >= _FEWEST and _close(fold.unfolded(numbers), given, close, rows) >= _SHARE:
            return fold
    return None


def _close(numbers: FloatArray, given: FloatArray, close: float, rows: BoolArray) -> float:
    return float((np.abs(numbers - given)[rows] <= close).mean())


def _jumps(high: BoolArray) -> IntArray:
    return np.flatnonzero(np.diff(high.astype(np.int8)) != 0).astype(np.int64)
