"""SAE J1979 service 01 scaling: what a generic scan tool gets to see of a signal.

The logger uses it for logs that came through the diagnostic port; the numbers are those of the
standard's table of parameter identifiers (checked in the tests against an independent library).
"""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.record import record


@record
class Scaling:
    """value = scale · raw + offset, with raw an unsigned number of so many bytes."""

    pid: int
    size: int
    scale: float
    offset: float = 0.0

    @property
    def lowest(self) -> float:
        return self.offset

    @property
    def highest(self) -> float:
        return self.scale * float(256**self.size - 1) + self.offset

    def raw(self, values: FloatArray) -> FloatArray:
        """The nearest raw numbers, at the ends of the range where a value lies outside."""
        return np.clip(np.round((values - self.offset) / self.scale), 0, 256**self.size - 1)

    def seen(self, values: FloatArray) -> FloatArray:
        """The values as they come out on the other side."""
        return np.asarray(self.raw(values) * self.scale + self.offset, dtype=np.float64)

    def encode(self, value: float) -> bytes:
        raw = int(self.raw(np.asarray([value]))[0])
        return raw.to_bytes(self.size, "big")


J1979: dict[str, Scaling] = {
    "engine load": Scaling(0x04, 1, 100 / 255),
    "engine coolant temperature": Scaling(0x05, 1, 1.0, -40.0),
    "manifold absolute pressure": Scaling(0x0B, 1, 1.0),
    "engine speed": Scaling(0x0C, 2, 0.25),
    "vehicle speed": Scaling(0x0D, 1, 1.0),
    "delivered advance": Scaling(0x0E, 1, 0.5, -64.0),
    "intake air temperature": Scaling(0x0F, 1, 1.0, -40.0),
    "throttle position": Scaling(0x11, 1, 100 / 255),
    "barometric pressure": Scaling(0x33, 1, 1.0),
    "module voltage": Scaling(0x42, 2, 0.001),
    "ethanol content": Scaling(0x52, 1, 100 / 255),
    "oil temperature": Scaling(0x5C, 1, 1.0, -40.0),
}
