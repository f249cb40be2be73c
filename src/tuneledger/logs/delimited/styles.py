"""Which mark is the decimal mark, and whether another sets thousands apart.

`1.234` is a thousand in one country and little more than one in another. A file is read only where
its own cells settle that; what they leave open is refused, not guessed.
"""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from enum import Enum

from tuneledger.logs.delimited.cells import Style, bare, is_grouped, is_number
from tuneledger.units import parse_unit

_FIGURES = re.compile(r"[+-]?[\d.,' \u00a0\u2007\u202f\u2009’]*\d(?:[eE][+-]?\d+)?")
_SUFFIXED = re.compile(r"([+-]?[\d.,]+)\s*([^\d\s.,].*)")
_SUFFIX_SHARE = 0.8


class Decimal(Enum):
    """The decimal mark of a file."""

    POINT = "."
    COMMA = ","
    OPEN = "?"  # `1,234` and nothing that tells which it is


def file_decimal(columns: Sequence[Sequence[str]]) -> Decimal:
    """The decimal mark that most cells of a file show.

    columns: some cells of each column, clock times left out
    """
    comma = point = 0
    open_columns: list[list[str]] = []
    for cells in columns:
        figures = [text for cell in cells if _FIGURES.fullmatch(text := bare(cell))]
        for text in figures:
            shows = _shows(text)
            comma += shows == ","
            point += shows == "."
        if any("," in text and _shows(text) is None for text in figures):
            open_columns.append(figures)
    if comma or point:
        return Decimal.COMMA if comma > point else Decimal.POINT
    if not open_columns:
        return Decimal.POINT
    verdicts = [_settled(figures) for figures in open_columns]
    if "," in verdicts:
        return Decimal.COMMA
    return Decimal.POINT if "." in verdicts else Decimal.OPEN


def _shows(text: str) -> str | None:
    """The decimal mark of which a cell leaves no doubt, or None."""
    for decimal, other in ((".", ","), (",", ".")):
        if decimal in text and is_number(text, decimal) and not is_grouped(text, decimal):
            return decimal
        if decimal in text and other in text and is_grouped(text, other):
            return decimal
        if text.count(other) > 1 and is_grouped(text, other):
            return decimal
    return None


def _settled(figures: Iterable[str]) -> str | None:
    """What a column with `1,234` in it says by its whole numbers: "," or "." or None.

    Whole numbers beside it, all below a thousand, are what thousands separators leave; a whole
    number of a thousand or more without separator shows that the comma is none.
    """
    whole = [abs(int(text)) for text in figures if re.fullmatch(r"[+-]?\d+", text)]
    if not whole:
        return None
    return "," if max(whole) >= 1000 else "."


def column_style(
    doubtful: Sequence[str], decimal: str, *, highest: float = 0.0, decimals: bool = False
) -> Style:
    """How one column writes numbers that the file's own style does not read.

    doubtful: distinct cells that the file's decimal mark does not settle
    highest:  the largest magnitude among the column's other numbers
    decimals: one of those others has decimals
    """
    suffix = common_suffix(doubtful)
    texts = [bare(cell).removesuffix(suffix).strip() for cell in doubtful]
    figures = [text for text in texts if _FIGURES.fullmatch(text)]
    other = "," if decimal == "." else "."
    if not figures or all(is_number(t, decimal) and other not in t for t in figures):
        return Style(decimal, suffix=suffix)
    for thousands in (other, " ", "'") if highest < 1000 else (" ", "'"):
        if all(is_grouped(t, thousands) or is_number(t, decimal) for t in figures):
            return Style(decimal, thousands, suffix)
    if not decimals and all(is_number(text, other) for text in figures):
        return Style(other, suffix=suffix)
    return Style(decimal, suffix=suffix)


def common_suffix(cells: Iterable[str]) -> str:
    """The unit that stands behind the number in nearly every cell (`85 °C`), or ""."""
    found = [_SUFFIXED.fullmatch(bare(cell)) for cell in cells]
    counted = Counter(match[2] for match in found if match)
    if not counted:
        return ""
    suffix, often = counted.most_common(1)[0]
    unit = parse_unit(suffix)
    known = unit is not None and unit.kind not in ("number", "state")
    return suffix if known and often >= _SUFFIX_SHARE * len(found) else ""
