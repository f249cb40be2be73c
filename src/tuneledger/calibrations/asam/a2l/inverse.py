"""The rational function of a description, turned round.

ASAM MCD-2 MC gives RAT_FUNC from the physical number x to the stored one:
stored = (a·x² + b·x + c) / (d·x² + e·x + f). What is wanted is x, the root of
(a − d·stored)·x² + (b − e·stored)·x + (c − f·stored) = 0.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.wording import number

_SLACK = 1e-6  # of the span between the limits: they are rounded in most files


def physical(raw: FloatArray, six: Sequence[float], limits: tuple[float, float]) -> FloatArray:
    """The physical numbers of stored ones.

    Where the equation has two solutions, the limits must leave one of them. NotRepresentedError
    where there is none, or they leave both.
    """
    a, b, c, d, e, f = six
    with np.errstate(all="ignore"):
        square, straight, plain = a - d * raw, b - e * raw, c - f * raw
        if (square == 0).all():
            if (straight == 0).any():
                raise NotRepresentedError("its conversion cannot be turned round")
            return np.asarray(-plain / straight + 0.0)
        return _roots(raw, np.stack([square, straight, plain]), limits)


def _roots(raw: FloatArray, equation: FloatArray, limits: tuple[float, float]) -> FloatArray:
    low, high = limits
    slack = _SLACK * max(high - low, 0.0)
    out = np.empty(raw.size)
    for index, (square, straight, plain) in enumerate(equation.reshape(3, -1).T):
        roots = np.roots([square, straight, plain]) if np.isfinite(equation).all() else np.empty(0)
        real = {float(root.real) for root in roots if abs(root.imag) <= 1e-9 * max(1.0, abs(root))}
        within = [root for root in sorted(real) if low - slack <= root <= high + slack]
        if len(within) != 1:
            stored = number(float(raw.reshape(-1)[index]))
            found = f"{len(within)} numbers" if within else "no number"
            raise NotRepresentedError(
                f"its conversion gives {found} within its limits for {stored}"
            )
        out[index] = within[0]
    return out.reshape(raw.shape)
