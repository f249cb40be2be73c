"""Noise of zero mean between delivered and scheduled: how wide it is, where it is nothing else.

It is measured where both stand still but for it, in short blocks: as wide in nearly every block,
and without a memory from one sample to the next. What an ECU takes or adds comes and goes, or
lasts; a governor at idle is never taken for noise.
"""

from collections.abc import Iterable

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.record import record

# A block lasts so long, and has so many rows at the least; so many blocks make a measurement.
_BLOCK_S, _FEWEST_ROWS, _FEWEST_BLOCKS = 0.4, 8, 12
# In a block that counts, scheduled moves by no more than this from its first half to its second,
# and what lies between the two by no more than that.
_STEADY_DEG, _STILL_DEG = 2.5, 1.0
# Blocks that are so much noisier than the middle one hold something else.
_USUAL = 4.0
# The quietest tenth of the blocks is at least so noisy beside the middle one.
_EVERYWHERE = 0.35
# Of white noise, what each sample is off the middle of its neighbours goes with the next one's by
# −2/3; what runs smoothly goes by more.
_WHITE = (-0.85, -0.5)
_OF_WHITE = 1.5
# What goes with another channel by so much, sample for sample, follows it.
# It does so only if it moves in this share of its samples.
_FOLLOWS, _RESTLESS = 0.25, 0.3
# Other channels are read where the noise would hide so many times the tolerance, which is dear: in
# about so many blocks.
_HIDES, _COMPARED = 2.0, 200
_MOST_BLOCKS = 1000
# So many standard deviations are allowed for.
_WIDTHS = 3.5
# What would widen the tolerance by less is not worth a word.
_WORTH = 1.2
# A wider one is no noise of a log, in degrees: something chatters. Judgement.
_WIDEST_DEG = 1.0


@record
class Noise:
    """Standard deviations in degrees, rounding not counted: of delivered, and of scheduled.

    allowed_deg: how far a sample may be off by it, and by rounding
    besides_deg: the tolerance without it
    """

    delivered_deg: float
    scheduled_deg: float
    allowed_deg: float
    besides_deg: float


def find_noise(
    start: FloatArray,
    delivered: FloatArray,
    rows: BoolArray,
    steps: tuple[float | None, float | None],
    row_s: float,
    limit: float,
    others: Iterable[FloatArray] = (),
) -> Noise | None:
    """The noise between the two, where it makes samples differ by more than `limit`; else None.

    start, delivered: in the same rows, lag removed by whole rows
    rows:  those that may be judged, and in which no governor works
    steps: the quantisation steps of the two, None where there is none
    others: what else is logged in these rows; what follows one of them is no noise. Read only
           where there seems to be noise
    """
    size = max(_FEWEST_ROWS, round(_BLOCK_S / row_s)) if row_s > 0 else 0
    apart = delivered - start
    if not size or not _jumps(apart, limit):
        return None
    still = _blocks(rows.astype(np.float64), size).all(axis=1)
    still &= _stands(_blocks(start, size), _STEADY_DEG)
    still &= _stands(_blocks(apart, size), _STILL_DEG)
    if still.sum() < _FEWEST_BLOCKS:
        return None
    off = _off_the_middle(_blocks(apart, size)[still])
    widths = np.sqrt((off**2).mean(axis=1) / _OF_WHITE)
    width = _width(off)
    with_next = float((off[:, 1:] * off[:, :-1]).mean() / max((off**2).mean(), 1e-12))
    everywhere = np.percentile(widths, 10.0) >= _EVERYWHERE * width
    wide = _WORTH * limit < _WIDTHS * width and width <= _WIDEST_DEG
    if not wide or not everywhere or not _WHITE[0] <= with_next <= _WHITE[1]:
        return None
    if _WIDTHS * width > _HIDES * limit:
        few = np.flatnonzero(still)[:: max(1, int(still.sum()) // _COMPARED)]
        mine = _off_the_middle(_blocks(apart, size)[few])
        if any(_follows(mine, _blocks(other, size)[few]) for other in others):
            return None
    own = [
        _without_rounding(_off_the_middle(_blocks(values, size)[still]), step)
        for values, step in zip((start, delivered), steps, strict=True)
    ]
    return Noise(own[1], own[0], _WIDTHS * width, limit)


def _jumps(apart: FloatArray, limit: float) -> bool:
    """Whether the middle sample is off its neighbours by more than rounding makes it: a first look
    that costs next to nothing."""
    off = np.abs(apart[1:-1] - 0.5 * (apart[:-2] + apart[2:]))
    known = off[np.isfinite(off)]
    return bool(known.size) and float(np.median(known)) > 0.5 * limit / _WIDTHS


def _blocks(values: FloatArray, size: int) -> FloatArray:
    """The values in blocks; of a long log about so many, evenly spread."""
    count = values.size // size
    blocks = values[: count * size].reshape(count, size)
    return blocks[:: max(1, count // _MOST_BLOCKS)]


def _stands(blocks: FloatArray, within_deg: float) -> BoolArray:
    """Blocks whose two halves lie as near each other; not those that lack a sample."""
    half = blocks.shape[1] // 2
    apart = blocks[:, :half].mean(axis=1) - blocks[:, -half:].mean(axis=1)
    return np.asarray(np.abs(apart) <= within_deg)


def _off_the_middle(blocks: FloatArray) -> FloatArray:
    """By how much each sample is off the middle of its neighbours."""
    return np.asarray(blocks[:, 1:-1] - 0.5 * (blocks[:, :-2] + blocks[:, 2:]))


def _follows(off: FloatArray, other: FloatArray) -> bool:
    """Whether another channel moves with it from sample to sample, or one sample beside."""
    theirs = _off_the_middle(other)
    if not (theirs != 0.0).mean() > _RESTLESS or not np.isfinite(theirs).all():
        return False
    off, theirs = (np.clip(x, -4.0 * _width(x), 4.0 * _width(x)) for x in (off, theirs))
    spread = float(off.std() * theirs.std())
    pairs = ((off, theirs), (off[:, 1:], theirs[:, :-1]), (off[:, :-1], theirs[:, 1:]))
    return max(abs(float((a * b).mean())) for a, b in pairs) > _FOLLOWS * spread


def _without_rounding(off: FloatArray, step: float | None) -> float:
    return float(np.sqrt(max(0.0, _width(off) ** 2 - (step or 0.0) ** 2 / 12.0)))


def _width(off: FloatArray) -> float:
    """The standard deviation in all blocks, but for those in which something else happens."""
    squares = (off**2).mean(axis=1) / _OF_WHITE
    usual = squares[squares <= _USUAL * np.median(squares)]
    return float(np.sqrt(usual.mean()))
