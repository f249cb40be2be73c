"""Replies to SAE J1979 requests on CAN, out of raw frames: which value, and its scaling.

Source of the scalings: SAE J1979 (digital annex), service 01, held in the tests against an
independent library of the same standard. A reply is one frame of ISO 15765-2: its length, 0x41, the
parameter's number, then the data bytes A, B, … Replies of several frames carry no engine value.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.record import record

_REPLY = 0x41
# Replies to a tester: 11-bit identifiers of the engine and other units, and the 29-bit form.
_ELEVEN_BITS = (0x7E8, 0x7EF)
_TO_TESTER = 0x18DAF100


@record
class Parameter:
    """Value = factor × raw + offset; raw is A, or 256 A + B where `size` is 2."""

    name: str
    unit: str
    factor: float
    offset: float = 0.0
    size: int = 1

    def values(self, data: IntArray) -> FloatArray:
        """The values of data bytes, shape (replies, at least `size`)."""
        raw = data[:, 0] if self.size == 1 else 256 * data[:, 0] + data[:, 1]
        return raw.astype(np.float64) * self.factor + self.offset


_PERCENT = 100.0 / 255.0
PARAMETERS: dict[int, Parameter] = {
    0x04: Parameter("Calculated load value", "%", _PERCENT),
    0x05: Parameter("Engine coolant temperature", "degC", 1.0, -40.0),
    0x06: Parameter("Short term fuel trim bank 1", "%", 100.0 / 128.0, -100.0),
    0x07: Parameter("Long term fuel trim bank 1", "%", 100.0 / 128.0, -100.0),
    0x08: Parameter("Short term fuel trim bank 2", "%", 100.0 / 128.0, -100.0),
    0x09: Parameter("Long term fuel trim bank 2", "%", 100.0 / 128.0, -100.0),
    0x0A: Parameter("Fuel rail pressure gauge", "kPa", 3.0),
    0x0B: Parameter("Intake manifold absolute pressure", "kPa", 1.0),
    0x0C: Parameter("Engine RPM", "rpm", 0.25, size=2),
    0x0D: Parameter("Vehicle speed sensor", "km/h", 1.0),
    0x0E: Parameter("Ignition timing advance for cylinder 1", "deg", 0.5, -64.0),
    0x0F: Parameter("Intake air temperature", "degC", 1.0, -40.0),
    0x10: Parameter("Air flow rate from mass air flow sensor", "g/s", 0.01, size=2),
    0x11: Parameter("Absolute throttle position", "%", _PERCENT),
    0x1F: Parameter("Time since engine start", "s", 1.0, size=2),
    0x2F: Parameter("Fuel level input", "%", _PERCENT),
    0x33: Parameter("Barometric pressure", "kPa", 1.0),
    0x42: Parameter("Control module voltage", "V", 0.001, size=2),
    0x43: Parameter("Absolute load value", "%", _PERCENT, size=2),
    0x44: Parameter("Commanded equivalence ratio", "", 2.0 / 65536.0, size=2),
    0x45: Parameter("Relative throttle position", "%", _PERCENT),
    0x46: Parameter("Ambient air temperature", "degC", 1.0, -40.0),
    0x47: Parameter("Absolute throttle position B", "%", _PERCENT),
    0x49: Parameter("Accelerator pedal position D", "%", _PERCENT),
    0x4A: Parameter("Accelerator pedal position E", "%", _PERCENT),
    0x4C: Parameter("Commanded throttle actuator control", "%", _PERCENT),
    0x52: Parameter("Alcohol fuel percentage", "%", _PERCENT),
    0x5C: Parameter("Engine oil temperature", "degC", 1.0, -40.0),
    0x5E: Parameter("Engine fuel rate", "L/h", 0.05, size=2),
    0x61: Parameter("Driver's demand engine percent torque", "%", 1.0, -125.0),
    0x62: Parameter("Actual engine percent torque", "%", 1.0, -125.0),
}


@record(eq=False)
class Replies:
    """One parameter's replies in order of time. times: seconds, as the log counts them."""

    parameter: Parameter
    unit_id: int
    times: FloatArray
    values: FloatArray


def replies(times: FloatArray, ids: IntArray, data: IntArray) -> Iterator[Replies]:
    """The replies among raw frames, per unit and parameter, in order of their numbers.

    times: (n,) seconds; ids: (n,) CAN identifiers without flags; data: (n, 8) bytes
    Frames that are something else, or of a parameter that no table here holds, are passed over.
    """
    if data.ndim != 2 or data.shape[1] < 3:
        return
    asked: BoolArray = ((ids >= _ELEVEN_BITS[0]) & (ids <= _ELEVEN_BITS[1])) | (
        (ids & 0x1FFFFF00) == _TO_TESTER
    )
    asked &= (data[:, 1] == _REPLY) & (data[:, 0] >= 3) & (data[:, 0] <= 7)
    for unit_id in np.unique(ids[asked]):
        for number, parameter in PARAMETERS.items():
            own = asked & (ids == unit_id) & (data[:, 2] == number)
            own &= data[:, 0] >= 2 + parameter.size
            if data.shape[1] >= 3 + parameter.size and own.any():
                values = parameter.values(data[own, 3:])
                yield Replies(parameter, int(unit_id), times[own], values)
