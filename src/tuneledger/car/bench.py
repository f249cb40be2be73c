"""The bench on which a case is put together: vehicle, a first drive, names, switches, chance.

Thresholds are placed where the first drive says that they matter. That drive runs on the bare
map, so a correction that acts will move the car a little; what counts is the second drive.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.car.dress import own_unit
from tuneledger.car.drive import Run
from tuneledger.car.vehicle import Vehicle
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

SHEET_STEP = {"degC": 1.0, "degF": 1.0, "kPa": 5.0, "bar": 0.05, "psi": 1.0, "rpm": 50.0, "%": 1.0,
              "V": 0.1, "km/h": 1.0, "g": 0.05, "g/s": 1.0, "Nm": 5.0}  # fmt: skip


@dataclass
class Bench:
    """names: channel name per quantity; taste: what the sheet's writer uses for a unit."""

    rng: np.random.Generator
    vehicle: Vehicle
    base: Run
    names: Mapping[str, str]
    taste: Mapping[str, str] = field(default_factory=dict)
    switches: dict[str, list[tuple[float, float]]] = field(default_factory=dict)

    def number(self, low: float, high: float, step: float = 0.1) -> float:
        """A number from that span, rounded as a person would write it."""
        return round(round(float(self.rng.uniform(low, high)) / step) * step, 3)

    def pick(self, *options: Any) -> Any:
        return options[int(self.rng.integers(len(options)))]

    @property
    def driving(self) -> BoolArray:
        """Where the first drive is neither void nor idling."""
        c = self.base.columns
        return np.asarray(~self.base.void & (c["throttle position"] > 5.0), dtype=np.bool_)

    def column(self, key: str) -> FloatArray:
        return self.base.columns[key]

    def at(self, key: str, quantile: float, driving: bool = True) -> float:
        """The value below which a quantity spends that share of the (driven) time."""
        values = self.column(key)
        return float(np.quantile(values[self.driving] if driving else values, quantile))

    def unit(self, key: str) -> str:
        own = own_unit(key)
        return self.taste.get(own, own)

    def reading(self, key: str) -> dict[str, Any]:
        """How a sheet names a quantity: a signal where it is one, else the log's channel."""
        unit = self.unit(key)
        named = {"signal": key} if key in SIGNALS else {"channel": self.names[key]}
        return named | ({"unit": unit} if unit else {})

    def written(self, key: str, value: float) -> float:
        """A value in the quantity's own unit, in the sheet's unit and as coarse as one writes."""
        own, unit = own_unit(key), self.unit(key)
        scale, offset = conversion(own, unit) or (1.0, 0.0)
        step = SHEET_STEP.get(unit, 0.01)
        return round(round((scale * value + offset) / step) * step, 4)

    def on(self, switch: str, share: tuple[float, float] = (0.25, 0.5)) -> dict[str, Any]:
        """The condition that a switch is on, and the spans in which the driver has it on."""
        self.switches.setdefault(switch, self.spans(share))
        return {"channel": self.names[switch], "is": "on"}

    def spans(
        self, share: tuple[float, float], length: float | None = None
    ) -> list[tuple[float, float]]:
        """One to three stretches of the drive, a share of it in all, not from its first second."""
        length = float(self.base.times[-1]) if length is None else length
        total, count = length * float(self.rng.uniform(*share)), int(self.rng.integers(1, 4))
        starts = np.sort(self.rng.uniform(0.1 * length, 0.9 * length - total / count, count))
        return [(round(float(s), 2), round(float(s) + total / count, 2)) for s in starts]
