"""Readings that look as if they had been counted after top dead centre, with the sign lost.

An advance of 10° read as 10° after top dead centre stands 20° off; with its sign turned it falls
into place. A crank could be that far off as well, so that nothing is turned here: it is asked.
"""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.light.line import fit_line

# Turned, all of them stand this close to what was commanded; as read, that far off. A pointer is
# seldom so far out by chance just where the mirrored reading is: common practice, no source.
_CLOSE_DEG, _FAR_DEG = 3.0, 8.0
# Where only some are turned, the line through all is to be so much straighter with them.
_STRAIGHTER, _SCATTER_DEG = 4.0, 1.5
_READ_TO_DEG = 0.25


def seem_turned(rpm: FloatArray, commanded: FloatArray, observed: FloatArray) -> BoolArray:
    """Which readings would fall into place with the other sign; none where that is not clear."""
    none = np.zeros(rpm.shape, dtype=np.bool_)
    as_read, mirrored = observed - commanded, -observed - commanded
    turned: BoolArray = (np.abs(as_read) >= _FAR_DEG) & (np.abs(mirrored) < np.abs(as_read) / 2)
    if not turned.any():
        return none
    if turned.all():
        return turned if bool((np.abs(mirrored) <= _CLOSE_DEG).all()) else none
    straight, crooked = _scatter(rpm, np.where(turned, mirrored, as_read)), _scatter(rpm, as_read)
    clear = crooked > _SCATTER_DEG and _STRAIGHTER * max(straight, _READ_TO_DEG) < crooked
    return turned if clear else none


def _scatter(rpm: FloatArray, off: FloatArray) -> float:
    """How far the readings lie off their own line; infinite where they make none."""
    line = fit_line(rpm, off)
    return line.residual if line is not None and line.freedom else np.inf
