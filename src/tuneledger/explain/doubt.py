"""How finely the log has a channel, and where a threshold lies within that.

The ECU compares its own number; the log has it rounded, and with the noise of its own sampling.
Where the two may fall on different sides of a threshold, the log cannot say whether a correction
was on.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.logs.facts import quantisation_step

WIDE, HALF = 3.0, 0.499
# A second difference of pure noise has √6 times its spread; 1.48 makes a median a spread.
_SECOND_DIFFERENCE = 1.48 / np.sqrt(6.0)
LOOKED_AT = 20000


def resolved(number: FloatArray) -> float:
    """How finely a channel is known: half its step, and a few times its sample-to-sample noise."""
    step = quantisation_step(number[:LOOKED_AT]) or 0.0
    # A whole number is not in doubt at the half.
    return max(HALF * step, WIDE * noise(number))


def noise(number: FloatArray) -> float:
    """The spread of a channel from sample to sample, apart from where it is going."""
    thin = number[:LOOKED_AT]
    shake = np.abs(thin[2:] - 2.0 * thin[1:-1] + thin[:-2])
    shake = shake[np.isfinite(shake)]
    return _SECOND_DIFFERENCE * float(np.median(shake)) if shake.size else 0.0


def near(number: FloatArray, limits: Sequence[float | None], width: float) -> BoolArray:
    """Rows in which a number is within `width` of any of the limits."""
    out = np.zeros(number.shape, dtype=np.bool_)
    for limit in limits:
        if limit is not None:
            out |= np.abs(number - limit) <= width
    return out
