"""Record layouts: in which order the parts of a parameter lie in memory, and as which numbers."""

from collections.abc import Mapping
from typing import Literal

import numpy as np
from numpy.typing import DTypeLike

from tuneledger.calibrations.asam.a2l.blocks import Block
from tuneledger.calibrations.asam.a2l.fields import Fields, as_whole
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.calibrations.tree import quoted
from tuneledger.record import record

NUMBERS: dict[str, DTypeLike] = {
    "UBYTE": np.uint8,
    "SBYTE": np.int8,
    "UWORD": np.uint16,
    "SWORD": np.int16,
    "ULONG": np.uint32,
    "SLONG": np.int32,
    "A_UINT64": np.uint64,
    "A_INT64": np.int64,
    "FLOAT16_IEEE": np.float16,
    "FLOAT32_IEEE": np.float32,
    "FLOAT64_IEEE": np.float64,
}
_RESERVED = {"BYTE": "UBYTE", "WORD": "UWORD", "LONG": "ULONG"}

_ALIGNED = {
    "ALIGNMENT_BYTE": ("UBYTE", "SBYTE"),
    "ALIGNMENT_WORD": ("UWORD", "SWORD"),
    "ALIGNMENT_LONG": ("ULONG", "SLONG"),
    "ALIGNMENT_INT64": ("A_UINT64", "A_INT64"),
    "ALIGNMENT_FLOAT16_IEEE": ("FLOAT16_IEEE",),
    "ALIGNMENT_FLOAT32_IEEE": ("FLOAT32_IEEE",),
    "ALIGNMENT_FLOAT64_IEEE": ("FLOAT64_IEEE",),
}
Alignment = Mapping[str, int]
NATURAL: Alignment = {name: np.dtype(kind).itemsize for name, kind in NUMBERS.items()}
"""To multiples of what address a number goes; a number's own size where nothing is said."""

_AXES = {"X": "x", "Y": "y", "Z": "z", "4": "4", "5": "5"}
_FIELDS = {  # of a part, after its position: the number's type and what else is told
    "FNC_VALUES": 3,
    "AXIS_PTS": 3,
    "AXIS_RESCALE": 4,
    "NO_AXIS_PTS": 1,
    "NO_RESCALE": 1,
    "DIST_OP": 1,
    "OFFSET": 1,
    "SHIFT_OP": 1,
    "RIP_ADDR": 1,
    "SRC_ADDR": 1,
    "IDENTIFICATION": 1,
    "RESERVED": 1,
}
ByteOrder = Literal["<", ">", ""]
_DIRECT = "DIRECT"
_BYTE_ORDERS: dict[str, ByteOrder] = {"MSB_FIRST": ">", "MSB_LAST": "<"}
_UNCLEAR_ORDERS = ("BIG_ENDIAN", "LITTLE_ENDIAN")


@record
class Part:
    """One part of a record: `what` (FNC_VALUES, AXIS_PTS …) of an axis ("" for none).

    told: its further fields; the direction of values, the order of axis points, the addressing
    """

    what: str
    axis: str
    position: int
    number: str
    told: tuple[str, ...] = ()

    @property
    def size(self) -> int:
        return np.dtype(NUMBERS[self.number]).itemsize


@record
class Layout:
    """The parts in the order of memory.

    fixed:  axis → the number of points that the layout itself gives it
    static: each part begins where it would with the most points
    """

    name: str
    parts: tuple[Part, ...]
    fixed: Mapping[str, int]
    alignment: Alignment
    static: bool = False

    def part(self, what: str, axis: str = "") -> Part | None:
        return next((p for p in self.parts if p.what == what and p.axis == axis), None)


def read_layout(block: Block, general: Alignment) -> Layout:
    """The layout that a RECORD_LAYOUT holds. NotRepresentedError with what cannot be followed."""
    fields = Fields(block)
    name = fields.word("its name")
    parts: list[Part] = []
    fixed: dict[str, int] = {}
    alignment = dict(general)
    static = False
    left = list(fields.rest())
    at = 0
    while at < len(left):
        key = left[at]
        base, _, axis = key.rpartition("_")
        if key in _ALIGNED and at + 1 < len(left):
            alignment |= aligned(key, left[at + 1])
            at += 2
        elif base == "FIX_NO_AXIS_PTS" and axis in _AXES and at + 1 < len(left):
            fixed[_AXES[axis]] = _count(left[at + 1], key)
            at += 2
        elif key in ("STATIC_RECORD_LAYOUT", "STATIC_ADDRESS_OFFSETS"):
            static = True
            at += 1
        else:
            part, used = _part(left[at:], name)
            parts.append(part)
            at += used
    _apart(parts, name)
    ordered = tuple(sorted(parts, key=lambda part: part.position))
    return Layout(name, ordered, fixed, alignment, static)


def _part(words: list[str], layout: str) -> tuple[Part, int]:
    """The part that begins here, and how many words it takes."""
    key = words[0]
    base, _, axis = key.rpartition("_")
    what, of = (base, _AXES.get(axis, axis)) if base in _FIELDS else (key, "")
    if what not in _FIELDS:
        raise NotRepresentedError(
            f"its record layout {quoted(layout)} has {quoted(key)}, which is not known"
        )
    used = 2 + _FIELDS[what]
    position = as_whole(words[1]) if len(words) >= used else None
    number = _RESERVED.get(words[2], words[2]) if position is not None else ""
    if position is None or number not in NUMBERS:
        raise NotRepresentedError(f"its record layout {quoted(layout)} is damaged at {quoted(key)}")
    return Part(what, of, position, number, tuple(words[3:used])), used


def _apart(parts: list[Part], layout: str) -> None:
    places = [part.position for part in parts]
    if len(set(places)) < len(places):
        reason = "values alternate with axis points, or two parts stand in one place"
        raise NotRepresentedError(f"in its record layout {quoted(layout)} {reason}")
    for part in parts:
        if part.told and part.told[-1] != _DIRECT:
            raise NotRepresentedError(
                f"its values are reached by pointers ({quoted(part.told[-1])})"
            )


def _count(text: str, key: str) -> int:
    found = as_whole(text)
    if found is None or not 0 < found <= 1 << 16:
        raise NotRepresentedError(f"{quoted(text)} after {key}, expected a number of points")
    return found


def aligned(key: str, text: str) -> dict[str, int]:
    """What an ALIGNMENT keyword says of each kind of number."""
    size = as_whole(text)
    if size is None or not 0 < size <= 1 << 12:
        raise NotRepresentedError(f"{quoted(text)} after {key}, expected a number of bytes")
    return dict.fromkeys(_ALIGNED[key], size)


def is_alignment(key: str) -> bool:
    """Whether a keyword of a record layout sets how numbers of one size are aligned in memory."""
    return key in _ALIGNED


def byte_order(*told: str | None) -> ByteOrder:
    """The first of the orders that is told, as numpy writes it; "" where none is.

    The words BIG_ENDIAN and LITTLE_ENDIAN stand for opposite things in different editions and
    tools, which is why later editions of the standard replace them by MSB_FIRST and MSB_LAST.
    """
    word = next((text for text in told if text), "")
    if not word or word in _UNCLEAR_ORDERS:
        return ""
    if word not in _BYTE_ORDERS:
        raise NotRepresentedError(f"its byte order {quoted(word)} is not followed")
    return _BYTE_ORDERS[word]
