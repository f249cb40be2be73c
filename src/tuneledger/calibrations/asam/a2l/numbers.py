"""From the raw numbers of a record to numbers in the shape of their axes."""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.asam.a2l.conversions import Converted
from tuneledger.calibrations.asam.a2l.described import AxisSaid, Said, fixed_points
from tuneledger.calibrations.asam.a2l.layouts import NUMBERS
from tuneledger.calibrations.asam.a2l.records import Record
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.calibrations.tree import quoted
from tuneledger.wording import quantity

Parts = dict[tuple[str, str], FloatArray]
VALUES = ("FNC_VALUES", "")
_SLACK = 1e-6  # of the span between the limits: they are rounded in most files


def shaped(raw: FloatArray, record: Record, direction: str) -> FloatArray:
    """Values in the shape of the axes, x first.

    COLUMN_DIR stores a column, one x, after the other; ROW_DIR a row, one y, after the other. So
    do the example files that were published with ASAM CDF 2.0. Of three axes, there is one such
    map after the other, for each z (ASAM MCD-2 MC 1.7, CUBOID, from memory).
    """
    sizes = tuple(record.counts.get(name, most) for name, most in record.most.items())
    if len(sizes) < 2:
        return raw.reshape(sizes)
    if direction == "COLUMN_DIR":
        maps = raw.reshape((*sizes[2:], *sizes[:2]))
        return maps if len(sizes) == 2 else np.moveaxis(maps, 0, -1)
    if direction == "ROW_DIR":
        return raw.reshape(sizes[::-1]).T
    raise NotRepresentedError(f"its values are stored in the order {quoted(direction)}")


def masked(raw: FloatArray, mask: int | None, number: str) -> FloatArray:
    """The bits that count, moved down to the lowest (BIT_MASK)."""
    kind = np.dtype(NUMBERS[number])
    bits = (1 << (8 * kind.itemsize)) - 1
    if mask is None or kind.kind == "f" or mask & bits in (0, bits):
        return raw
    low = (mask & -mask).bit_length() - 1
    kept = [(int(one) & mask & bits) >> low for one in raw.reshape(-1)]
    return np.asarray(kept, dtype=np.float64)


def stored_steps(axis: AxisSaid, name: str, parts: Parts) -> tuple[float, ...]:
    """The points of a fixed axis whose offset and step stand in the record."""
    offset = parts.get(("OFFSET", name))
    shift, step = parts.get(("SHIFT_OP", name)), parts.get(("DIST_OP", name))
    if offset is None or (shift is None and step is None):
        raise NotRepresentedError(f"its fixed axis {name} has no points, neither told nor stored")
    counted = parts.get(("NO_AXIS_PTS", name))
    count = axis.most if counted is None else float(counted[0])
    distance = 2.0 ** float(np.clip(shift, 0, 32)[0]) if shift is not None else 0.0
    distance = float(step[0]) if step is not None else distance
    return fixed_points(float(offset[0]), distance, count)


def text_of(raw: FloatArray | None) -> str:
    """A text of one byte for each sign, to its first zero."""
    if raw is None or ((raw < 0) | (raw > 255)).any():
        raise NotRepresentedError("its text is not stored in bytes")
    data = bytes(int(one) for one in raw).partition(b"\0")[0]
    return data.decode("latin-1").strip(" \xff")


def beyond(said: Said, found: Converted, unit: str) -> tuple[str, ...]:
    """A sentence where numbers lie outside the limits that the description gives them."""
    low, high = said.limits
    slack = _SLACK * max(high - low, 0.0)
    outside = (found.numbers < low - slack) | (found.numbers > high + slack)
    if low >= high or found.words is not None or not outside.any():
        return ()
    return (
        f"{said.name}: {int(outside.sum())} of {found.numbers.size} numbers lie outside the limits "
        f"that the description gives it ({quantity(low, unit)} to {quantity(high, unit)}); do the "
        "image and the description belong together?",
    )
