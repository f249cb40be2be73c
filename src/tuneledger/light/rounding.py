"""What rounding leaves open: every line that could have been read as these readings.

A mark is read to half a degree or to a whole one, so that the true angle lies anywhere within half
a step of what was written down. Readings rounded alike lie on their line with no scatter at all and
may all be off by the same; what is left then says nothing of that, and the lines that pass within
half a step of every reading say all. Their ends come from the readings two by two (elimination by
Fourier and Motzkin; G. B. Dantzig, Linear Programming and Extensions, 1963, section 4-4).
"""

import numpy as np

from tuneledger.arrays import FloatArray

# What people read a mark to, the coarsest first: common practice, no source.
STEPS_DEG = (1.0, 0.5, 0.25, 0.2, 0.1, 0.05, 0.01)
_MOST = 200  # different speeds; with fewer readings the lines that pass are more, never fewer


def step_of(values: FloatArray) -> float:
    """The coarsest step that all values are multiples of; 0 where there is none, or no value."""
    if not values.size:
        return 0.0
    for step in STEPS_DEG:
        parts = values / step
        if bool((np.abs(parts - np.round(parts)) * step < 1e-6).all()):
            return step
    return 0.0


class Lines:
    """The straight lines that pass within `half` of every point. Some line has to do so."""

    def __init__(self, x: FloatArray, y: FloatArray, half: float) -> None:
        where = np.unique(x)
        if where.size > _MOST:
            where = where[np.linspace(0, where.size - 1, _MOST).astype(np.int64)]
        self.x = where
        self.floor = np.array([y[x == one].max() for one in where]) - half
        self.roof = np.array([y[x == one].min() for one in where]) + half

    def at(self, x: float) -> tuple[float, float]:
        """Between which values they are at x; infinite where nothing holds them."""
        from_x = self.x - x
        right, left, here = from_x > 0.0, from_x < 0.0, from_x == 0.0
        # A line of value v at x has a slope of at most (end − v) / run for each `most`, of at least
        # that for each `least`: each pair of the two bounds v.
        most = np.concatenate([self.roof[right], self.floor[left]])
        least = np.concatenate([self.floor[right], self.roof[left]])
        runs = np.concatenate([from_x[right], from_x[left]])
        apart = 1.0 / runs[:, np.newaxis] - 1.0 / runs[np.newaxis]
        bounds = (most / runs)[:, np.newaxis] - (least / runs)[np.newaxis]
        above, below = apart > 0.0, apart < 0.0
        high = (bounds[above] / apart[above]).min(initial=np.inf)
        low = (bounds[below] / apart[below]).max(initial=-np.inf)
        return (
            float(self.floor[here].max(initial=low)),
            float(self.roof[here].min(initial=high)),
        )

    @property
    def slope(self) -> tuple[float, float]:
        """Between which values their slopes are."""
        run = self.x[np.newaxis] - self.x[:, np.newaxis]
        on = run > 0.0
        low = (self.floor[np.newaxis] - self.roof[:, np.newaxis])[on] / run[on]
        high = (self.roof[np.newaxis] - self.floor[:, np.newaxis])[on] / run[on]
        return float(low.max(initial=-np.inf)), float(high.min(initial=np.inf))
