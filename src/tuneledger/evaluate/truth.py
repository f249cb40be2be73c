"""Truth with what is not known: two columns, what certainly holds and what possibly does.

Every operation on conditions is monotone, so it is carried out on each of the two by itself. Where
both say the same, the truth is known: no way of filling in what is missing could change it.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.record import record

# Times are decimal fractions: two that are as far apart as a sheet says may differ by less.
HALF_A_MICROSECOND = 0.5e-6


@record(eq=False)
class Truth:
    """One truth per sample. `certain` implies `possible`; in between it is not known."""

    certain: BoolArray
    possible: BoolArray

    @property
    def known(self) -> BoolArray:
        return self.certain | ~self.possible

    def without(self, rows: BoolArray) -> "Truth":
        """The same, but false in these rows."""
        return Truth(self.certain & ~rows, self.possible & ~rows)


def sure(values: BoolArray) -> Truth:
    """A truth that is known in every sample."""
    return Truth(values, values)


def everywhere(samples: int) -> Truth:
    """True in every one of so many samples."""
    return sure(np.ones(samples, dtype=np.bool_))


def unknown(samples: int) -> Truth:
    """Not computable in any of so many samples: perhaps true, surely nowhere."""
    return Truth(np.zeros(samples, dtype=np.bool_), np.ones(samples, dtype=np.bool_))


def all_of(truths: Sequence[Truth], samples: int) -> Truth:
    """True where all are; false where one is, whatever the others; true without any."""
    out = everywhere(samples)
    for truth in truths:
        out = Truth(out.certain & truth.certain, out.possible & truth.possible)
    return out


def any_of(truths: Sequence[Truth], samples: int) -> Truth:
    """True where one is, whatever the others; false where none is."""
    out = sure(np.zeros(samples, dtype=np.bool_))
    for truth in truths:
        out = Truth(out.certain | truth.certain, out.possible | truth.possible)
    return out


def kept(on: Truth, off: Truth, *, starts_off: bool = False) -> Truth:
    """A state that turns true where `on` is, false where `off` is, and else stays as it was.

    Where both are true, `on` wins. Before the first of either it is not known, or false where
    `starts_off`.
    """
    return Truth(
        _keep(on.certain, off.possible, before=False),
        _keep(on.possible, off.certain, before=not starts_off),
    )


def held(truth: Truth, times: FloatArray, seconds: float) -> Truth:
    """True once `truth` has been for so long, counted from the sample at which it turned.

    Being true at the first sample counts from there.
    """
    certain = _lasted(truth.certain, times, seconds)
    if truth.possible is truth.certain:
        return sure(certain)
    return Truth(certain, _lasted(truth.possible, times, seconds))


def lingering(truth: Truth, times: FloatArray, seconds: float) -> Truth:
    """True while `truth` is, and for less than so long from the sample at which it turned false.

    It may have been true just before the first sample: whether that lingers is not known.
    """
    return Truth(
        truth.certain | _fell_lately(truth.certain, times, seconds, before=False),
        truth.possible | _fell_lately(truth.possible, times, seconds, before=True),
    )


def last_row(events: BoolArray) -> IntArray:
    """For each row the last row at or before it at which an event was; −1 before the first."""
    rows = np.where(events, np.arange(events.size), -1)
    out: IntArray = np.maximum.accumulate(rows)
    return out


def _keep(on: BoolArray, off: BoolArray, *, before: bool) -> BoolArray:
    last = last_row(on | off)
    return np.where(last >= 0, on[last], before)


def _lasted(state: BoolArray, times: FloatArray, seconds: float) -> BoolArray:
    began = state.copy()
    began[1:] &= ~state[:-1]
    out: BoolArray = state & (times - times[last_row(began)] > seconds - HALF_A_MICROSECOND)
    return out


def _fell_lately(state: BoolArray, times: FloatArray, seconds: float, *, before: bool) -> BoolArray:
    fell = ~state
    fell[:1] &= before
    fell[1:] &= state[:-1]
    last = last_row(fell)
    out: BoolArray = (last >= 0) & (times - times[last] < seconds - HALF_A_MICROSECOND)
    return out
