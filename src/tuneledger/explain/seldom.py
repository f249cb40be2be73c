"""Readings that are sampled seldom, taken to either end of what they may have been in between.

Between two samples a number has gone from one to the other, and nobody knows when: at a threshold
that lies between the two, the moment of crossing is open.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Comparison
from tuneledger.evaluate.model import Inputs
from tuneledger.explain.grain import Grain


class Seldom:
    """Inputs besides which numbers of a log lie, as channels under names that no log has."""

    def __init__(self, inputs: Inputs) -> None:
        self._inputs = inputs
        self._added: dict[str, FloatArray] = {}

    @property
    def times(self) -> FloatArray:
        return self._inputs.times

    def signal(self, name: str, unit: str | None) -> FloatArray | None:
        return self._inputs.signal(name, unit)

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        added = self._added.get(name)
        return self._inputs.channel(name, unit) if added is None else added

    def at_its_end(self, comparison: Comparison, grain: Grain, way: int) -> Comparison:
        """The comparison reading what makes it hold the sooner (way 1) or the later (−1), if what
        it reads is sampled more seldom than the log has rows; else as it is."""
        ends = spans(comparison, grain)
        if ends is None:
            return comparison
        name = f"\0{len(self._added)}"
        self._added[name] = _taken(comparison, *ends, way)
        nothing = dict.fromkeys(("signal", "minus", "over", "rate", "unit"))
        return comparison.model_copy(update={**nothing, "channel": name})


def spans(comparison: Comparison, grain: Grain) -> tuple[FloatArray, FloatArray] | None:
    """The least and the most that a comparison's number may have been in each row; None where
    every row has a sample of it."""
    if comparison.rate is not None or comparison.since is not None:
        return None
    values = grain.number(comparison)
    return None if values is None else grain.of(values).span


def crossed(comparison: Comparison, grain: Grain, limits: Sequence[float]) -> bool:
    """Whether one of the limits is passed between two samples that lie some rows apart."""
    ends = spans(comparison, grain)
    if ends is None:
        return False
    low, high = ends
    return any(bool(np.any((low <= limit) & (limit <= high) & (low < high))) for limit in limits)


def _taken(comparison: Comparison, low: FloatArray, high: FloatArray, way: int) -> FloatArray:
    if comparison.between is None:
        return high if (comparison.above is not None) == (way > 0) else low
    middle = 0.5 * (comparison.between[0] + comparison.between[1])
    if way > 0:
        return np.asarray(np.clip(middle, low, high), dtype=np.float64)
    return np.where(middle - low > high - middle, low, high)
