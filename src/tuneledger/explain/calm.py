"""A log's inputs with their noise averaged out, as a control unit that filters them sees them."""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Inputs
from tuneledger.explain.doubt import WIDE
from tuneledger.explain.grain import Grain, Number


class Calm:
    """Inputs with the noise of some channels averaged out, save where they move by more."""

    def __init__(self, raw: Inputs, names: frozenset[str], grain: Grain) -> None:
        self.raw, self._names, self._grain = raw, names, grain
        self._kept: dict[tuple[str, str, str | None], FloatArray] = {}

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
            self._kept[key] = _calm(self._grain.of(values))
        return self._kept[key]


def _calm(number: Number) -> FloatArray:
    """The values averaged, but as they are where they move by more than their noise."""
    if number.averaged_over <= 1:
        return number.values
    mean = number.mean_around(np.arange(number.values.size), number.averaged_over)
    still = np.abs(number.values - mean) <= (WIDE + 1.0) * number.noise
    return np.where(still, mean, number.values)
