"""What a channel is like, from its numbers and times alone."""

from functools import cached_property

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.logs.behaviour import (
    Smear,
    Span,
    frozen_spans,
    smeared_switch,
    thinned_by_extremes,
    time_gaps,
)
from tuneledger.logs.raster import Raster, held_every, held_raster
from tuneledger.logs.steps import quantisation_step
from tuneledger.record import record

__all__ = [
    "Clock",
    "Facts",
    "Raster",
    "find_facts",
    "frozen_spans",
    "held_every",
    "held_raster",
    "quantisation_step",
    "smeared_switch",
    "thinned_by_extremes",
    "time_gaps",
]


@record
class Facts:
    """Facts about one channel; None where it has no sample or the fact cannot be told.

    samples:  rows with a number, repeated ones included
    lowest, highest: in the channel's unit
    step:     the quantisation step, in the channel's unit
    every:    a sample of its own in one of so many rows (held or empty in between); 1 for all
    rate_hz:  own samples per second
    gaps:     (start, end) in seconds without a sample
    constant: one value in the whole log
    frozen:   (start, end) in seconds in which a moving channel stands still
    smear:    an export has put values between the two levels of a switch
    thinned:  an export has kept only lowest and highest values
    """

    samples: int
    lowest: float | None
    highest: float | None
    step: float | None
    every: int
    rate_hz: float | None
    gaps: tuple[Span, ...]
    constant: bool
    frozen: tuple[Span, ...]
    smear: Smear | None
    thinned: bool

    @property
    def stuck(self) -> bool:
        """The channel never changes, or stands frozen for a while."""
        return self.constant or bool(self.frozen)


@record(eq=False)
class Clock:
    """The times of a group, with what all channels share that have a sample in every row."""

    times: FloatArray

    @cached_property
    def gaps(self) -> tuple[Span, ...]:
        return time_gaps(self.times)


def find_facts(clock: Clock, values: FloatArray) -> Facts:
    """The facts of one channel. values: one per time of its group's clock; NaN where missing."""
    times = clock.times
    finite = np.isfinite(values)
    whole = bool(finite.all())
    own_times, own = (times, values) if whole else (times[finite], values[finite])
    if own.size == 0:
        return Facts(0, None, None, None, 1, None, (), False, (), None, False)
    every = held_every(values)
    if own.size < 0.75 * values.size and own.size > 1:
        every = max(1, round(float(np.median(np.diff(np.flatnonzero(finite))))))
        rate_samples = own_times
    else:
        rate_samples = own_times[::every]
    lowest, highest = float(own.min()), float(own.max())
    return Facts(
        samples=int(own.size),
        lowest=lowest,
        highest=highest,
        step=quantisation_step(own),
        every=every,
        rate_hz=_rate(rate_samples),
        gaps=clock.gaps if whole else time_gaps(own_times),
        constant=own.size > 1 and lowest == highest,
        frozen=frozen_spans(own_times, own),
        smear=smeared_switch(own),
        thinned=thinned_by_extremes(own),
    )


def _rate(times: FloatArray) -> float | None:
    """Samples per second, by the median step between stamps that differ."""
    steps = np.diff(times)
    steps = steps[steps > 0]
    return float(1.0 / np.median(steps)) if steps.size else None
