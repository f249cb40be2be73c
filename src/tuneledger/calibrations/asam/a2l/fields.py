"""What a block says: its fields in their fixed order, then keywords with what belongs to them."""

import re
from collections.abc import Iterator
from math import isfinite

from tuneledger.calibrations.asam.a2l.blocks import Block
from tuneledger.calibrations.asam.a2l.tokens import Quoted
from tuneledger.calibrations.asam.parameter import NotRepresentedError
from tuneledger.calibrations.tree import quoted

_NUMBER = re.compile(r"[+-]?(?:\d++\.?\d*+|\.\d++)(?:[eE][+-]?\d++)?")
_INTEGER = re.compile(r"[+-]?(?:0[xX][0-9a-fA-F]+|\d+)")
_LONGEST = 40  # signs of a number

FOLLOWED = {
    **dict.fromkeys(("DISCRETE", "GUARD_RAILS", "READ_ONLY"), 0),
    **dict.fromkeys(("AXIS_PTS_REF", "BIT_MASK", "BYTE_ORDER", "CALIBRATION_ACCESS"), 1),
    **dict.fromkeys(("COMPARISON_QUANTITY", "COMPU_TAB_REF", "CURVE_AXIS_REF", "DEPOSIT"), 1),
    **dict.fromkeys(("DISPLAY_IDENTIFIER", "ECU_ADDRESS_EXTENSION", "ENCODING", "FORMAT"), 1),
    **dict.fromkeys(("MAX_GRAD", "MODEL_LINK", "MONOTONY", "NUMBER", "PHYS_UNIT", "REF_UNIT"), 1),
    **dict.fromkeys(("REF_MEMORY_SEGMENT", "STATUS_STRING_REF", "STEP_SIZE"), 1),
    **dict.fromkeys(("ADDR_EPK", "EPK"), 1),
    **dict.fromkeys(("COEFFS_LINEAR", "EXTENDED_LIMITS", "MAX_REFRESH", "SYMBOL_LINK"), 2),
    **dict.fromkeys(("FIX_AXIS_PAR", "FIX_AXIS_PAR_DIST"), 3),
    "COEFFS": 6,
}
"""How many fields follow a keyword (ASAM MCD-2 MC, versions 1.6 and 1.7)."""


class Fields:
    """A block's words and texts, taken one after the other; blocks inside it are passed over.

    Every taking raises NotRepresentedError where something else stands there.
    """

    def __init__(self, block: Block) -> None:
        self.block = block
        self._items = [item for item in block.items if isinstance(item, str)]
        self._at = 0

    def word(self, what: str) -> str:
        return str(self._next(what))

    def text(self, what: str) -> str:
        item = self._next(what)
        if not isinstance(item, Quoted):
            raise self._wrong(item, f"{what} in quotes")
        return str(item)

    def number(self, what: str) -> float:
        item = self._next(what)
        found = as_number(item)
        if found is None:
            raise self._wrong(item, f"{what}, a number")
        return found

    def whole(self, what: str, most: int = 2**64) -> int:
        item = self._next(what)
        found = as_whole(item)
        if found is None or not -most <= found <= most:
            raise self._wrong(item, f"{what}, a whole number")
        return found

    def rest(self) -> Iterator[str]:
        """All that is left, as it stands."""
        while self._at < len(self._items):
            self._at += 1
            yield self._items[self._at - 1]

    def keywords(self) -> dict[str, list[str]]:
        """Keywords with their fields; a keyword that nobody knows is passed over."""
        found: dict[str, list[str]] = {}
        left = self._items[self._at :]
        self._at = len(self._items)
        at = 0
        while at < len(left):
            key = left[at]
            at += 1
            if isinstance(key, Quoted):
                continue
            if key == "MATRIX_DIM":
                end = at
                while end < len(left) and as_whole(left[end]) is not None:
                    end += 1
            elif key in FOLLOWED:
                end = at + FOLLOWED[key]
            else:
                continue
            found.setdefault(str(key), left[at:end])
            at = end
        return found

    def _next(self, what: str) -> str:
        if self._at >= len(self._items):
            raise NotRepresentedError(f"its {self.block.name} ends before {what}{self._line()}")
        self._at += 1
        return self._items[self._at - 1]

    def _wrong(self, item: str, expected: str) -> NotRepresentedError:
        return NotRepresentedError(
            f"{quoted(item)} stands in its {self.block.name}{self._line()}, expected {expected}"
        )

    def _line(self) -> str:
        return f" (line {self.block.page.line(self.block.at)})"


def as_number(text: str) -> float | None:
    """A number as a description writes it, hexadecimal too; None where it is none."""
    if len(text) > _LONGEST or isinstance(text, Quoted):
        return None
    if _NUMBER.fullmatch(text):
        number = float(text)
        return number if isfinite(number) else None
    whole = as_whole(text)
    return None if whole is None else float(whole)


def as_whole(text: str) -> int | None:
    """A whole number, decimal or hexadecimal; None where it is none."""
    if len(text) > _LONGEST or isinstance(text, Quoted) or not _INTEGER.fullmatch(text):
        return None
    return int(text, 16 if "x" in text.casefold() else 10)
