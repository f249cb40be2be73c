"""Units in the words that stand beside an axis or in a corner."""

import re
from collections.abc import Sequence

from tuneledger.bounded import LONGEST_TEXT
from tuneledger.units import parse_unit

_BRACKETS = re.compile(r"[\[(]([^\])]{1,12})[\])]")
_TIMES = re.compile(r"(?:\b[x×*]|[×*·])\s*(10+)\b(?!\s*[^\W\d])")  # behind: `rpm x 1000`
_BEFORE = (re.compile(r"[^\s\\|;,()\[\]]+$"), re.compile(r"[^\s/\\|;,()\[\]]+$"))
_BETWEEN = re.compile(r"[\\|;,]+|\s/\s|\s+")


def known_unit(text: str) -> str | None:
    """The spelling of a unit that this program writes, where the text is a unit and no number."""
    unit = parse_unit(text) if text.strip() else None
    return unit.symbol or None if unit is not None else None


def units_in(words: str) -> tuple[str, ...]:
    """Every unit that words name, in brackets or as a word of its own, in order, each once.

    A power of ten behind a unit multiplies the numbers: `rpm x 1000` is `1000 rpm`. What stands
    behind the first thousand letters names none: the rest is text, and would be read many times.
    """
    words, counted = _without_powers(words[:LONGEST_TEXT])
    bracketed = _BRACKETS.findall(words)
    alone = [part for part in _BETWEEN.split(words) if part]
    apart = [piece for part in alone if known_unit(part) is None for piece in part.split("/")]
    candidates = bracketed or [*alone, *apart]
    found = [*counted, *(unit for text in candidates if (unit := known_unit(text)))]
    return tuple(dict.fromkeys(found))


def _without_powers(words: str) -> tuple[str, list[str]]:
    """The words without the units that have a power of ten behind them, and those units."""
    counted: list[str] = []
    while power := _TIMES.search(words):
        before, after = words[: power.start()], words[power.end() :]
        for pattern in _BEFORE:  # `1/min` is one unit, `bar/rpm` are two
            named = pattern.search(before.rstrip(" ()[]"))
            alone = known_unit(named[0]) if named else None
            unit = known_unit(f"{power[1]} {alone}") if alone else None
            if unit and named:
                counted.append(unit)
                before = before[: named.start()]
                break
        words = f"{before} {after}"
    return words, counted


def unit_of(words: str) -> str | None:
    """The unit that words name, where they name a single one."""
    units = units_in(words)
    return units[0] if len(units) == 1 else None


def last_unit(units: Sequence[str]) -> str | None:
    """The unit written behind the numbers of an axis (any of them; the last is as good)."""
    found = [unit for text in units if (unit := known_unit(text))]
    return found[-1] if found else None
