"""Student's t: the number that widens an interval where few readings stand behind it."""

import math

import numpy as np


def central(t: float, freedom: int) -> float:
    """The probability that |T| is at most `t` with so many degrees of freedom (1 or more).

    The finite series of Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and
    26.7.4; checked against SciPy's.
    """
    angle = math.atan2(t, math.sqrt(freedom))
    cosine = math.cos(angle)
    odd = freedom % 2
    if freedom == 1:
        return 2.0 * angle / math.pi
    # terms 1, (1/2)c², (1·3/2·4)c⁴ … where freedom is even; c, (2/3)c³, (2·4/3·5)c⁵ … where odd
    k = np.arange(1, (freedom - 1) // 2 if odd else freedom // 2)
    ratios = (2.0 * k / (2.0 * k + 1.0)) if odd else ((2.0 * k - 1.0) / (2.0 * k))
    terms = np.cumprod(np.concatenate(([cosine if odd else 1.0], ratios * cosine**2)))
    total = math.sin(angle) * float(terms.sum())
    return (2.0 / math.pi) * (angle + total) if odd else total


def two_sided(share: float, freedom: int) -> float:
    """The `t` within which |T| lies with probability `share` (0 to 1, exclusive)."""
    low, high = 0.0, 1.0
    while central(high, freedom) < share:
        high *= 2.0
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (middle, high) if central(middle, freedom) < share else (low, middle)
    return 0.5 * (low + high)
