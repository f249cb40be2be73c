"""What one cell of text can be: a number, a switch, or nothing; anything else is not read."""

import math
import re
from functools import cache, lru_cache

from tuneledger.logs.delimited.vocabulary import words
from tuneledger.record import record

BLANKS = ' \t\r\u00a0\u2007\u202f\u2009\ufeff\x00"'
_MINUSES = str.maketrans("−–﹣－", "----")
_GAP = "[ \u00a0\u2007\u202f\u2009]"
_PLAIN = {  # digits give nothing back (`++`): of a long row of them every part would be tried
    ".": re.compile(r"[+-]?(?:\d++\.?\d*+|\.\d++)(?:[eE][+-]?\d++)?"),
    ",": re.compile(r"[+-]?(?:\d++,?\d*+|,\d++)(?:[eE][+-]?\d++)?"),
}
_GROUPED = {
    ",": r"[+-]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?",
    ".": r"[+-]?[1-9]\d{0,2}(?:\.\d{3})+(?:,\d+)?",
    " ": rf"[+-]?[1-9]\d{{0,2}}(?:{_GAP}\d{{3}})+(?:[.,]\d+)?",
    "'": r"[+-]?[1-9]\d{0,2}(?:['’]\d{3})+(?:[.,]\d+)?",
}
_SEPARATORS = {",": ",", ".": ".", " ": " \u00a0\u2007\u202f\u2009", "'": "'’"}


@record
class Style:
    """How a column writes its numbers. `thousands`: "", ",", ".", " " or "'"; `suffix`: a unit."""

    decimal: str = "."
    thousands: str = ""
    suffix: str = ""


@cache
def _meanings() -> dict[str, float]:
    out = dict.fromkeys(words("missing"), math.nan)
    out |= dict.fromkeys(words("off"), 0.0)
    out |= dict.fromkeys(words("on"), 1.0)
    out[""] = math.nan
    return out


def bare(text: str) -> str:
    """A cell without outer blanks and quotes, with a plain minus before a number."""
    text = text.strip(BLANKS)
    return text.translate(_MINUSES) if len(text) > 1 else text


def word_value(text: str) -> float | None:
    """1 or 0 for a switch's word, NaN for a cell that says missing, None for any other."""
    return _meanings().get(text.casefold())


@lru_cache(maxsize=1 << 14)
def is_missing(text: str) -> bool:
    """Whether a cell says that there is no value."""
    value = word_value(bare(text))
    return value is not None and math.isnan(value)


def is_number(text: str, decimal: str) -> bool:
    """Whether a cell is a plain number with that decimal mark and no thousands separator."""
    return _PLAIN[decimal].fullmatch(bare(text)) is not None


def is_grouped(text: str, thousands: str) -> bool:
    """Whether a cell is a number whose thousands are set apart by that separator."""
    return re.fullmatch(_GROUPED[thousands], bare(text)) is not None


def read_cell(text: str, style: Style) -> float | None:
    """The number in a cell; 1 or 0 for a switch; NaN where missing; None where it is neither."""
    text = bare(text)
    if style.suffix and text.endswith(style.suffix):
        text = text.removesuffix(style.suffix).rstrip(BLANKS)
    if style.thousands and is_grouped(text, style.thousands):
        for mark in _SEPARATORS[style.thousands]:
            text = text.replace(mark, "")
    if _PLAIN[style.decimal].fullmatch(text):
        number = float(text.replace(",", "."))
        return number if math.isfinite(number) else math.nan
    return word_value(text)
