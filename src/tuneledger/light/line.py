"""A straight line by least squares, with its uncertainty."""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.light.student import two_sided
from tuneledger.record import record

SURE = 0.95


@record
class Line:
    """y = intercept + slope · x, fitted by ordinary least squares.

    residual: standard deviation of what is left, √(sum of squares / freedom); NaN without freedom
    intercept_error, slope_error: standard errors; freedom: points less two
    spread:   Σ(x − mean x)²
    """

    intercept: float
    slope: float
    residual: float
    intercept_error: float
    slope_error: float
    freedom: int
    mean_x: float
    spread: float

    def at(self, x: FloatArray) -> FloatArray:
        return self.intercept + self.slope * x

    def leverage(self, x: FloatArray) -> FloatArray:
        """How much a new point at x would be uncertain by the line's own errors, in residual²."""
        return 1.0 / (self.freedom + 2) + (x - self.mean_x) ** 2 / self.spread

    @property
    def intercept_interval(self) -> tuple[float, float]:
        return self._interval(self.intercept, self.intercept_error)

    @property
    def slope_interval(self) -> tuple[float, float]:
        return self._interval(self.slope, self.slope_error)

    def _interval(self, value: float, error: float) -> tuple[float, float]:
        """At 95 %, by Student's t; infinite where there is no freedom."""
        if self.freedom < 1:
            return -np.inf, np.inf
        half = two_sided(SURE, self.freedom) * error
        return value - half, value + half


def fit_line(x: FloatArray, y: FloatArray) -> Line | None:
    """The line through points, or None where they have fewer than two different x.

    Checked against SciPy, scikit-learn and the certified values of the Norris data set (NIST
    Statistical Reference Datasets).
    """
    if x.size < 2 or np.ptp(x) == 0.0:
        return None
    mean_x, mean_y = float(x.mean()), float(y.mean())
    from_x, from_y = x - mean_x, y - mean_y
    spread = float((from_x**2).sum())
    slope = float((from_x * from_y).sum()) / spread
    intercept = mean_y - slope * mean_x
    freedom = x.size - 2
    left = from_y - slope * from_x
    residual = float(np.sqrt((left**2).sum() / freedom)) if freedom else float("nan")
    return Line(
        intercept=intercept,
        slope=slope,
        residual=residual,
        intercept_error=residual * float(np.sqrt(1.0 / x.size + mean_x**2 / spread)),
        slope_error=residual / float(np.sqrt(spread)),
        freedom=freedom,
        mean_x=mean_x,
        spread=spread,
    )
