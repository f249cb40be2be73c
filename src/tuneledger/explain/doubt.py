"""Rows in which a threshold lies within what the log can resolve of its channel.

The ECU compares its own number; the log has it rounded, and with the noise of its own sampling.
Where the two may fall on different sides of a threshold, the log cannot say whether a correction
was on, and a difference of just that correction is not held against the account.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import AnyOf, Comparison, Condition
from tuneledger.evaluate.model import Inputs
from tuneledger.evaluate.readings import read
from tuneledger.logs.facts import quantisation_step

_WIDE = 3.0
# A second difference of pure noise has √6 times its spread; 1.48 makes a median a spread.
_SECOND_DIFFERENCE = 1.48 / np.sqrt(6.0)
_MOST_ROWS = 20000


def resolved(number: FloatArray) -> float:
    """How finely a channel is known: half its step, and a few times its sample-to-sample noise."""
    thin = number[:_MOST_ROWS]
    step = quantisation_step(thin) or 0.0
    shake = np.abs(thin[2:] - 2.0 * thin[1:-1] + thin[:-2])
    shake = shake[np.isfinite(shake)]
    noise = _SECOND_DIFFERENCE * float(np.median(shake)) if shake.size else 0.0
    return max(0.499 * step, _WIDE * noise)  # a whole number is not in doubt at the half


def near(number: FloatArray, limits: Sequence[float | None], width: float) -> BoolArray:
    """Rows in which a number is within `width` of any of the limits."""
    out = np.zeros(number.shape, dtype=np.bool_)
    for limit in limits:
        if limit is not None:
            out |= np.abs(number - limit) <= width
    return out


def doubtful(conditions: Sequence[Condition], inputs: Inputs) -> BoolArray:
    """Rows in which any threshold of the conditions cannot be told."""
    out = np.zeros(inputs.times.shape, dtype=np.bool_)
    for comparison in _comparisons(conditions):
        limits = (comparison.above, comparison.below, comparison.release)
        if all(limit is None for limit in limits) or comparison.since is not None:
            continue
        number = read(comparison, inputs)
        if number is not None:
            out |= near(number, limits, resolved(number))
    return out


def _comparisons(conditions: Sequence[Condition]) -> Iterator[Comparison]:
    for condition in conditions:
        if isinstance(condition, Comparison):
            yield condition
        elif isinstance(condition, AnyOf):
            yield from _comparisons(condition.any)
