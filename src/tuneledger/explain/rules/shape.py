"""Degrees along one column of the log."""

import math

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.rules.columns import Column
from tuneledger.record import record


@record(eq=False)
class Shape:
    """Degrees along one column: piecewise linear, end values hold."""

    column: Column
    at: FloatArray
    deg: FloatArray

    def values(self) -> FloatArray:
        """Degrees per row of the log; NaN where the channel is."""
        return self.at_points(self.column.values)

    def at_points(self, numbers: FloatArray) -> FloatArray:
        """Degrees at these numbers of the channel."""
        return np.asarray(np.interp(numbers, self.at, self.deg), dtype=np.float64)

    def told(self) -> tuple[float, ...]:
        """The points as the log resolves its channel: digits beyond that are of the fit alone."""
        known = self.column.resolved
        places = min(max(0, -math.floor(math.log10(known))), 6) if known > 0 else 6
        at = np.round(self.at, places)
        at = at if (np.diff(at) > 0).all() else np.round(self.at, 6)
        return tuple(float(x) for x in at)

    def resolution(self) -> FloatArray:
        """Degrees that the rounding and the noise of the logged channel are worth."""
        around = [
            np.interp(self.column.values + nudge, self.at, self.deg)
            for nudge in (-self.column.resolved, self.column.resolved)
        ]
        return np.nan_to_num(np.abs(around[1] - around[0]) / 2.0)
