"""Units in the words that stand beside an axis or in a corner."""

import re
from collections.abc import Sequence

from tuneledger.units import parse_unit

_BRACKETS = re.compile(r"[\[(]([^\])]{1,12})[\])]")
_BETWEEN = re.compile(r"[\\|;,]+|\s/\s|\s+")


def known_unit(text: str) -> str | None:
    """The spelling of a unit that this program writes, where the text is a unit and no number."""
    unit = parse_unit(text) if text.strip() else None
    return unit.symbol or None if unit is not None else None


def units_in(words: str) -> tuple[str, ...]:
    """Every unit that words name, in brackets or as a word of its own, in order, each once."""
    bracketed = _BRACKETS.findall(words)
    alone = [part for part in _BETWEEN.split(words) if part]
    apart = [piece for part in alone if known_unit(part) is None for piece in part.split("/")]
    candidates = bracketed or [*alone, *apart]
    return tuple(dict.fromkeys(unit for text in candidates if (unit := known_unit(text))))


def unit_of(words: str) -> str | None:
    """The unit that words name, where they name a single one."""
    units = units_in(words)
    return units[0] if len(units) == 1 else None


def last_unit(units: Sequence[str]) -> str | None:
    """The unit written behind the numbers of an axis (any of them; the last is as good)."""
    found = [unit for text in units if (unit := known_unit(text))]
    return found[-1] if found else None
