"""Words by which a column shows that it is time, and in which unit."""

import re
from functools import cache

from tuneledger.logs.delimited.vocabulary import word_set
from tuneledger.units import parse_unit

_UNITS = ("s", "ms", "us", "min")
_WORD = re.compile(r"[^\W\d_]+")
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")


def _words(name: str) -> list[str]:
    return [word.casefold() for word in _WORD.findall(_CAMEL.sub(" ", name))]


@cache
def time_likeness(name: str) -> float:
    """How far a name says "time": 1 the whole name does, 0.6 a word of it, 0.3 all but a letter."""
    words = _words(name)
    if " ".join(words) in word_set("time") or name.strip().casefold() in word_set("time"):
        return 1.0
    if any(word in word_set("time words") for word in words):
        return 0.6
    return 0.3 if any(_all_but_a_letter(word, "time") for word in words) else 0.0


def _all_but_a_letter(word: str, meant: str) -> bool:
    return len(word) == len(meant) and sum(a != b for a, b in zip(word, meant, strict=True)) == 1


def time_unit(name: str, unit: str) -> str | None:
    """The unit of time that a channel's label names: `s`, `ms`, `us`, `min`, `h`, or None.

    Without a label of its own, the last word of a name such as `time_ms` is taken.
    """
    known = parse_unit(unit) if unit else None
    if known is not None:
        return known.symbol if known.kind == "time" else None
    if unit and unit.strip().casefold() == "ns":
        return "ns"
    words = _words(name)
    if unit or not words or not (time_likeness(name) or len(words) == 1):
        return None
    return next((unit for unit in _UNITS if words[-1] in word_set(f"unit {unit}")), None)


def other_unit(unit: str) -> bool:
    """Whether a label names a quantity that is not time."""
    known = parse_unit(unit) if unit else None
    return known is not None and known.kind not in ("time", "number")
