"""A channel with its noise averaged out, as a control unit that filters its inputs sees it."""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Inputs
from tuneledger.explain.doubt import WIDE, noise
from tuneledger.logs.facts import quantisation_step

# Noise is averaged over the longest of these in which the channel does nothing but make noise.
_CALM_S = (16.0, 8.0, 4.0, 2.0, 1.0)
_FEWEST_ROWS = 5
_ONLY_NOISE = 1.1
# Noise this small beside the step is the rounding itself.
NOISY = 0.3
# Turns a median of absolute values into a spread.
_SPREAD_OF_MEDIAN = 1.4826
# Gears, modes and flags are counts: known exactly.
_MOST_COUNTED = 15


class Calm:
    """Inputs with the noise of some channels averaged out, save where they move by more."""

    def __init__(self, raw: Inputs, names: frozenset[str]) -> None:
        self.raw, self._names = raw, names
        self._kept: dict[tuple[str, str, str | None], FloatArray | None] = {}

    @property
    def times(self) -> FloatArray:
        return self.raw.times

    def signal(self, name: str, unit: str | None) -> FloatArray | None:
        return self._calmed("signal", name, unit, self.raw.signal(name, unit))

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        return self._calmed("channel", name, unit, self.raw.channel(name, unit))

    def _calmed(
        self, what: str, name: str, unit: str | None, values: FloatArray | None
    ) -> FloatArray | None:
        if values is None or name not in self._names:
            return values
        key = (what, name, unit)
        if key not in self._kept:
            self._kept[key] = _calm(values, averaged_over(values, self.times))
        return self._kept[key]


def averaged_over(values: FloatArray, times: FloatArray) -> int:
    """Over how many rows a channel's noise can be averaged, an odd number; 1: not at all."""
    known = values[np.isfinite(values)]
    spread = noise(values)
    row_s = float(np.median(np.diff(times))) if times.size > 1 else 0.0
    if row_s <= 0 or known.size == 0 or counted(known) or spread <= NOISY * logged_step(known):
        return 1
    for length_s in _CALM_S:
        rows = max(_FEWEST_ROWS, round(length_s / row_s)) | 1
        if rows >= known.size:
            continue
        left = np.abs(values - _mean(values, rows))
        left = left[np.isfinite(left)]
        if _SPREAD_OF_MEDIAN * float(np.median(left)) <= _ONLY_NOISE * spread:
            return rows
    return 1


def _calm(values: FloatArray, rows: int) -> FloatArray:
    """The values averaged, but as they are where they move by more than their noise."""
    if rows <= 1:
        return values
    mean = _mean(values, rows)
    still = np.abs(values - mean) <= (WIDE + 1.0) * noise(values)
    return np.where(still, mean, values)


def _mean(values: FloatArray, rows: int) -> FloatArray:
    """The mean over so many rows around each; NaN where the row itself is."""
    finite = np.isfinite(values)
    total = np.concatenate(([0.0], np.cumsum(np.where(finite, values, 0.0))))
    count = np.concatenate(([0], np.cumsum(finite)))
    at = np.arange(values.size)
    low, high = np.maximum(at - rows // 2, 0), np.minimum(at + rows // 2 + 1, values.size)
    mean: FloatArray = np.full(values.shape, np.nan)
    np.divide(total[high] - total[low], count[high] - count[low], out=mean, where=finite)
    return mean


def counted(known: FloatArray) -> bool:
    """Whether a channel holds small whole numbers: a gear, a mode, a flag."""
    whole = bool(np.all(known == np.round(known)))
    return whole and float(known.min()) >= 0.0 and float(known.max()) <= _MOST_COUNTED


def logged_step(known: FloatArray) -> float:
    """The step; of a channel that stands still, what its decimals leave."""
    if known.min() < known.max():
        return quantisation_step(known) or 0.0
    text = f"{known[0]:.6f}".rstrip("0")
    return float(10.0 ** -(len(text) - text.index(".") - 1))
