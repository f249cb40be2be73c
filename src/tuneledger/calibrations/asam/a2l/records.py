"""A record in memory: where each of its parts lies, how many points it has, its raw numbers."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tuneledger.arrays import FloatArray
from tuneledger.bounded import at_most, raised_by
from tuneledger.calibrations.asam.a2l.fields import as_whole
from tuneledger.calibrations.asam.a2l.layouts import NUMBERS, ByteOrder, Layout, Part
from tuneledger.calibrations.asam.images import Image
from tuneledger.calibrations.asam.limits import CELLS
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.calibrations.tree import quoted
from tuneledger.wording import count

_PAIRS = 1 << 12  # of a rescale axis
_EXACT = 2.0**53  # whole numbers beyond it have no exact float


@dataclass(slots=True)
class Record:
    """A parameter's record in an image.

    most:   axis → the most points that the description allows
    counts: axis → the points that there are; filled from what stands in the record
    order:  "<", ">" or "" where the description does not tell
    pairs:  axis → the rescale pairs that there are; filled likewise
    """

    image: Image
    address: int
    layout: Layout
    order: ByteOrder
    most: Mapping[str, int]
    counts: dict[str, int]
    pairs: dict[str, int] = field(default_factory=dict)

    def parts(self) -> dict[tuple[str, str], FloatArray]:
        """The raw numbers of every part that matters. NotRepresentedError if they are not clear."""
        found: dict[tuple[str, str], FloatArray] = {}
        for part, address in self._placed():
            if part.what in _PASSED:
                continue
            numbers = self._numbers(part, address, self._cells(part))
            found[part.what, part.axis] = numbers
            if part.what == "NO_AXIS_PTS":
                self._points(part.axis, float(numbers[0]))
            if part.what == "NO_RESCALE":
                self.pairs[part.axis] = int(np.clip(numbers[0], 0, _PAIRS + 1))
        return found

    def _placed(self) -> Iterator[tuple[Part, int]]:
        """Each part with its address. Alignment is taken both ways: of addresses, of offsets.

        The standard aligns, and tools differ on what; where that changes anything, it is said.
        """
        absolute = relative = self.address
        for part in self.layout.parts:
            step = self.layout.alignment[part.number]
            if part is not self.layout.parts[0]:
                absolute += -absolute % step
                relative += -(relative - self.address) % step
            if absolute != relative:
                raise NotRepresentedError(
                    f"it begins at 0x{self.address:08X}, which its alignment does not allow, so "
                    "that the places of its parts are not clear"
                )
            yield part, absolute
            size = part.size * self._cells(part, most=self.layout.static)
            absolute += size
            relative += size

    def _cells(self, part: Part, *, most: bool = False) -> int:
        if part.what == "AXIS_PTS":
            return self._length(part.axis, most=most)
        if part.what == "AXIS_RESCALE":
            return 2 * self._pairs(part, most=most)
        if part.what != "FNC_VALUES":
            return 1
        cells = 1
        for axis in self.most:
            cells *= self._length(axis, most=most)
        if cells > at_most(CELLS):
            beyond = f"more than {at_most(CELLS)}{raised_by()}"
            raise NotRepresentedError(f"it has {cells} values, {beyond}")
        return cells

    def _length(self, axis: str, *, most: bool) -> int:
        if axis not in self.most:
            raise NotRepresentedError(
                f"its layout {quoted(self.layout.name)} has an axis {axis} that it lacks"
            )
        if most:
            return self.most[axis]
        counted = self.layout.part("NO_AXIS_PTS", axis)
        if axis not in self.counts and counted is not None:
            raise NotRepresentedError("the number of its points stands behind the points")
        return self.counts.get(axis, self.most[axis])

    def _pairs(self, part: Part, *, most: bool) -> int:
        """How many pairs of an axis point and its place on the virtual axis there are."""
        allowed = as_whole(part.told[0]) or 0
        if not 0 < allowed <= _PAIRS:
            raise NotRepresentedError(f"{quoted(part.told[0])} stands for its most rescale pairs")
        counted = self.layout.part("NO_RESCALE", part.axis) is not None
        if most or not counted:
            return allowed
        found = self.pairs.get(part.axis)
        if found is None:
            raise NotRepresentedError("the number of its rescale pairs stands behind the pairs")
        if not 2 <= found <= allowed:
            raise NotRepresentedError(
                f"the image gives it {found} rescale pairs, the description 2 to {allowed}; do "
                "they belong together?"
            )
        return found

    def _points(self, axis: str, number: float) -> None:
        """Take note of a number of points that stands in the record."""
        if axis not in self.most:
            return
        if not 1 <= number <= self.most[axis]:
            raise NotRepresentedError(
                f"the image gives it {number:.0f} points along {axis}, the description 1 to "
                f"{self.most[axis]}; do they belong together?"
            )
        told = self.counts.get(axis)
        if told is not None and told != int(number):
            raise NotRepresentedError(
                f"the image gives it {number:.0f} points along {axis}, its axis has {told}"
            )
        if self.layout.static and len(self.most) > 1 and number < self.most[axis]:
            raise NotRepresentedError(
                "its record is static and not full, so that its rows are not clear"
            )
        self.counts[axis] = int(number)

    def _numbers(self, part: Part, address: int, cells: int) -> FloatArray:
        kind = np.dtype(NUMBERS[part.number])
        if kind.itemsize > 1 and not self.order:
            raise NotRepresentedError(
                "the description does not tell the order of its bytes (say --byte-order)"
            )
        data = self.image.read(address, cells * kind.itemsize)
        numbers = np.frombuffer(data, dtype=kind.newbyteorder(self.order or "="))
        whole = kind.itemsize == 8 and kind.kind in "iu"
        if whole and (np.abs(numbers.astype(float)) > _EXACT).any():
            raise NotRepresentedError("it holds whole numbers too large to be exact")
        out = _shortest(numbers) if kind == np.float32 else numbers.astype(np.float64)
        if not np.isfinite(out).all():
            lost = count(int((~np.isfinite(out)).sum()), "number")
            raise NotRepresentedError(f"{lost} of it is not finite at 0x{address:08X} and on")
        return out


_PASSED = ("RESERVED", "IDENTIFICATION", "RIP_ADDR", "SRC_ADDR")


def _shortest(numbers: NDArray[Any]) -> FloatArray:
    """Single floats as the decimals that they stand for: 0.1, not 0.10000000149."""
    return np.asarray([float(str(one)) for one in numbers.astype(np.float32)], dtype=np.float64)
