"""A log's inputs typed into a test: columns with their units, on one time base."""

from collections.abc import Mapping, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.signals import SIGNALS
from tuneledger.units import convert

Column = tuple[str, Sequence[float | None] | FloatArray]


class TableInputs:
    """`Inputs` from tables of name → (unit, numbers); None and NaN are missing samples.

    A channel whose unit is "" carries no label: its numbers are taken to be in the unit asked for.
    """

    def __init__(
        self,
        times: Sequence[float] | FloatArray,
        signals: Mapping[str, Column] | None = None,
        channels: Mapping[str, Column] | None = None,
    ) -> None:
        self.times: FloatArray = np.asarray(times, dtype=np.float64)
        self._signals = {name: _column(*column) for name, column in (signals or {}).items()}
        self._channels = {
            name.casefold(): _column(*column) for name, column in (channels or {}).items()
        }

    def signal(self, name: str, unit: str | None) -> FloatArray | None:
        if name not in self._signals:
            return None
        own, numbers = self._signals[name]
        return convert(numbers, own, SIGNALS[name].unit if unit is None else unit)

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        if name.casefold() not in self._channels:
            return None
        own, numbers = self._channels[name.casefold()]
        return numbers if unit is None or not own else convert(numbers, own, unit)


def _column(unit: str, numbers: Sequence[float | None] | FloatArray) -> tuple[str, FloatArray]:
    return unit, np.array([np.nan if n is None else n for n in numbers], dtype=np.float64)
