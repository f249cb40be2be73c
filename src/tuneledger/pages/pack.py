"""Arrays as a page carries them: whole numbers, differenced, cut into byte planes, deflated once.

A log holds decimal numbers. As integers times a power of ten they come back to the last digit,
and the differences between neighbours are small, so that a page of 90,000 rows stays small.
`web/unpack.js` is the reader; both follow the docstring of `Packer.add`.
"""

import base64
import math
import zlib
from typing import TypedDict

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray

FINEST = 6  # decimals that are looked for in a logged number
_LARGEST = 2**30  # integers and their differences stay well inside 32 bits


class Packed(TypedDict):
    """Where an array lies in the page's samples, and how its integers become numbers.

    offset:   first byte
    count:    values, missing ones included
    width:    bytes per value
    decimals: value = integer / 10**decimals; may be negative
    gaps:     a bit per value stands before the values: set where there is one
    """

    offset: int
    count: int
    width: int
    decimals: int
    gaps: bool


def exact_decimals(values: FloatArray, most: int = FINEST) -> int | None:
    """The fewest decimals that hold every finite value exactly, or None where `most` do not."""
    thin = values[:: max(1, values.size // 500)]
    for decimals in range(most + 1):
        if _exact(thin, decimals) and _exact(values, decimals):
            return decimals
    return None


def _exact(values: FloatArray, decimals: int) -> bool:
    power = 10.0**decimals
    return bool(np.all(np.abs(np.rint(values * power) / power - values) <= 1e-13 * np.abs(values)))


def fine_enough(values: FloatArray) -> int:
    """Decimals that split the range of finite values into at least 20,000 steps."""
    span = float(np.ptp(values)) if values.size else 0.0
    return min(12, math.ceil(math.log10(20_000 / span))) if span > 0 else FINEST


class Packer:
    """Collects arrays into the one blob of a page."""

    def __init__(self) -> None:
        self._parts: list[bytes] = []
        self._size = 0
        self._known: dict[bytes, Packed] = {}

    def add(self, values: FloatArray | IntArray | BoolArray, decimals: int | None = None) -> Packed:
        """Put an array into the blob. NaN and infinity are missing.

        decimals: at most so many; None: as many as the numbers have, up to `FINEST`. What has no
        end (a computed number) is rounded to them, or to one 20,000th of its range.

        Layout: if there are gaps, ceil(count / 8) bytes of bits, least significant first, set
        where a value stands. Then, for the finite values only, the differences of the rounded
        integers (the first one to zero) in two's complement of `width` bytes: all lowest bytes,
        then all second ones, and so on.
        """
        numbers = np.asarray(values, dtype=np.float64)
        here = np.isfinite(numbers)
        whole, places = _integers(numbers[here], decimals)
        steps = np.diff(whole, prepend=0)
        width = _width(steps)
        planes = steps.astype("<i4").view(np.uint8).reshape(-1, 4).T[:width].tobytes()
        gaps = not bool(here.all())
        mask = np.packbits(here, bitorder="little").tobytes() if gaps else b""
        return self._place(mask + planes, numbers.size, width, places, gaps)

    def _place(self, data: bytes, count: int, width: int, decimals: int, gaps: bool) -> Packed:
        key = repr((count, width, decimals, gaps)).encode() + data
        if key not in self._known:
            self._known[key] = Packed(
                offset=self._size, count=count, width=width, decimals=decimals, gaps=gaps
            )
            self._parts.append(data)
            self._size += len(data)
        return self._known[key]

    def base64(self) -> str:
        """Everything that was added, deflated (zlib, RFC 1950), as base64."""
        return base64.b64encode(zlib.compress(b"".join(self._parts), 6)).decode("ascii")


def _integers(values: FloatArray, most: int | None) -> tuple[IntArray, int]:
    decimals = exact_decimals(values, FINEST if most is None else most)
    if decimals is None:
        decimals = fine_enough(values) if most is None else most
    largest = float(np.abs(values).max()) if values.size else 0.0
    if largest > 1e-12:
        decimals = min(decimals, math.floor(math.log10(_LARGEST / largest)))
    scaled = values * 10.0**decimals if decimals >= 0 else values / 10.0**-decimals
    return np.rint(scaled).astype(np.int64), decimals


def _width(steps: IntArray) -> int:
    if not steps.size:
        return 1
    reach = max(int(steps.max()), -int(steps.min()) - 1)
    return next(width for width in (1, 2, 3, 4) if reach < 2 ** (8 * width - 1))
