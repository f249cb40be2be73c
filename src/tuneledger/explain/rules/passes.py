"""How often a channel passed along its whole range: each time is a witness of its own."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray

# A channel that has turned round went so many times its range, in swings of so large a part of it;
# rows that are looked at for them.
_TURNS, _SWING, _LOOKED_AT = 1.3, 0.1, 4000


def passes(number: FloatArray) -> float:
    """How often a channel passed along its range, 0 where it does not move; NaN says nothing.

    What turns round nowhere passes once: coolant that only grows warmer does, however its last
    figure flickers.
    """
    number = number[np.isfinite(number)]
    span = float(np.ptp(number)) if number.size else 0.0
    if span <= 0:
        return 0.0
    there_and_back = _there_and_back(number, span)
    passed = float(np.abs(np.diff(number)).sum()) / span
    return passed if there_and_back >= _TURNS else min(passed, there_and_back)


def creeps(number: FloatArray) -> bool:
    """Whether a channel turns round nowhere, but for a flicker: it goes by as time does."""
    number = number[np.isfinite(number)]
    span = float(np.ptp(number)) if number.size else 0.0
    return span > 0 and _there_and_back(number, span) < _TURNS


def _there_and_back(number: FloatArray, span: float) -> float:
    few = number[:: max(1, number.size // _LOOKED_AT)]
    return sum(_swings(few.tolist(), _SWING * span)) / span


def _swings(values: Sequence[float], least: float) -> Iterator[float]:
    """By how much the values went from each turn to the next; turns of less than that are none."""
    start = low = high = values[0]
    for value in values:
        low, high = min(low, value), max(high, value)
        if high - value >= least and high - start >= start - low:
            yield high - start
            start, low = high, value
        elif value - low >= least and start - low > high - start:
            yield start - low
            start, high = low, value
    yield max(high - start, start - low)
