"""Cells of a pasted block: numbers in several spellings, missing ones, words and units beside them.

A cell is a float (NaN where the text says that the value is missing), None where it is empty, or
text.
"""

import re
from math import isnan, nan
from typing import TypeAlias

from tuneledger.record import record

Cell: TypeAlias = float | str | None

MISSING = frozenset({"-", "--", "---", "—", "–", "?", "nan", "n/a", "na", "#n/a", "null", "x"})
_SIGNS = str.maketrans({"−": "-", "–": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " "})
_AFTER = r"\s*(?P<unit>[^\d\s.,;+-][^\d;]{0,11})?"  # what may follow a number: 1000 rpm, 12.5°
# digits give nothing back (`++`): of a long row of them every part would be tried
_POINT = re.compile(rf"(?P<number>[+-]?(?:\d++\.?\d*+|\.\d++)(?:[eE][+-]?\d++)?){_AFTER}")
_COMMA = re.compile(rf"(?P<number>[+-]?(?:\d++(?:,\d++)?|,\d++)(?:[eE][+-]?\d++)?){_AFTER}")
_GROUPED = {
    ".": re.compile(rf"(?P<number>[+-]?[1-9]\d{{0,2}}(?:[,' ]\d{{3}})+(?:\.\d+)?){_AFTER}"),
    ",": re.compile(rf"(?P<number>[+-]?[1-9]\d{{0,2}}(?:[.' ]\d{{3}})+(?:,\d+)?){_AFTER}"),
}


@record
class Spelling:
    """How numbers are written: the decimal sign, and whether thousands are set apart."""

    decimal: str = "."
    grouped: bool = False


def read_cell(text: str, spelling: Spelling) -> tuple[Cell, str]:
    """(what a cell holds, the unit behind its number)."""
    plain = text.strip().strip("\"'").strip().translate(_SIGNS)
    if not plain:
        return None, ""
    if plain.casefold() in MISSING:
        return nan, ""
    if spelling.grouped:
        match = _GROUPED[spelling.decimal].fullmatch(plain)
        if match:
            separators = ",' " if spelling.decimal == "." else ".' "
            digits = match["number"].translate({ord(sign): None for sign in separators})
            return float(digits.replace(",", ".")), (match["unit"] or "").strip()
    match = (_POINT if spelling.decimal == "." else _COMMA).fullmatch(plain)
    if match is None:
        return plain, ""
    return float(match["number"].replace(",", ".")), (match["unit"] or "").strip()


def is_figure(cell: Cell) -> bool:
    """Whether a cell is a number that is known."""
    return isinstance(cell, float) and not isnan(cell)
