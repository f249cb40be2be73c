"""Lines in a dress that the rest need not know: other digits, and blanks between the cells.

Digits of other scripts become ASCII ones; columns set apart by blanks become cells between tabs.
Both are rare, so that such a file is brought into plain form in memory before it is read.
"""

import re
from collections.abc import Sequence
from enum import Enum

from tuneledger.logs.delimited.cells import is_missing
from tuneledger.logs.delimited.dialect import DELIMITERS, is_value

# Zero of each script that loggers write numbers in: the nine others follow it.
_ZEROS = "٠۰०๐０"
_DIGITS = str.maketrans(
    {chr(ord(zero) + n): str(n) for zero in _ZEROS for n in range(10)}
    | {"٫": ".", "．": ".", "－": "-", "＋": "+"}
)
_OTHER_DIGIT = re.compile("[٠-٩۰-۹०-९๐-๙０-９]")
_DIGIT = re.compile(r"\d")
_MOSTLY = 0.5
_ENDS = re.compile(r"(?m)^ ++|(?<! ) ++$")  # begun once for each run of blanks: runs may be long
_LOOKED_AT = 40
_ALL_VALUES, _ONE_WIDTH, _FEWEST_CELLS = 0.8, 0.95, 3


class Dress(Enum):
    """What has to be changed: the digits, wide blanks to tabs, or any blanks to tabs."""

    DIGITS = "digits"
    WIDE_BLANKS = "  +"
    BLANKS = " +"


def dress_of(lines: Sequence[str]) -> tuple[Dress, ...]:
    """What the lines of a file need to be plain; nothing, for nearly every file."""
    filled = [line for line in lines if line.strip()]
    body = filled[len(filled) // 2 :][:_LOOKED_AT]
    if not body:
        return ()
    found: list[Dress] = []
    text = "".join(body)
    if not text.isascii() and _is_mostly_other(text):
        found.append(Dress.DIGITS)
        body = [line.translate(_DIGITS) for line in body]
    if not any(mark in line for line in body for mark in DELIMITERS):
        blanks = next((d for d in (Dress.WIDE_BLANKS, Dress.BLANKS) if _is_table(body, d)), None)
        found += [blanks] if blanks else []
    return tuple(found)


def plain(text: str, dress: Sequence[Dress]) -> str:
    """The text, one line of it or all, without its dress."""
    for what in dress:
        if what is Dress.DIGITS:
            text = text.translate(_DIGITS)
        else:
            text = re.sub(what.value, "\t", _ENDS.sub("", text))
    return text


def _is_mostly_other(text: str) -> bool:
    return len(_OTHER_DIGIT.findall(text)) > _MOSTLY * len(_DIGIT.findall(text))


def _is_table(body: Sequence[str], blanks: Dress) -> bool:
    """Whether the lines are rows of as many values each, with blanks between."""
    rows = [re.split(blanks.value, line.strip()) for line in body]
    widths = [len(row) for row in rows]
    usual = max(set(widths), key=widths.count)
    if usual < _FEWEST_CELLS or widths.count(usual) < _ONE_WIDTH * len(rows):
        return False
    cells = [cell for row in rows for cell in row]
    return sum(is_value(c) or is_missing(c) for c in cells) >= _ALL_VALUES * len(cells)
