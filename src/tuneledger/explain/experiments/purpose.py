"""What a switch is for, and whether a driver may be asked to turn it.

Only a switch that is known to be harmless is ever asked for: its name says nothing but what
`purposes.txt` lists as such, or a sheet lists it as a driver's switch that takes advance, and no
word of its name or of the correction's says otherwise. All else is watched.
"""

import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Literal

from tuneledger.calibrations.model import Calibration, Correction, readings
from tuneledger.roles.lexicon import folded, lexicon

# `either`: may be turned on and off; `on`: may run, and is not switched off; `watch`: left alone.
Purpose = Literal["either", "on", "watch"]

_LISTED = Path(__file__).with_name("purposes.txt")
_DRIVERS = "driver switch"
# What a correction may be for whose switch is harmless by its name.
_MILD = frozenset({_DRIVERS, "other", "idle speed", "coolant temperature", "air temperature"})
_BETWEEN = re.compile(r"[\W_]+")
_LONGEST_NAME = 100  # letters: a longer one is a text, in which anything may stand


def purpose(name: str, sheets: Iterable[Calibration] = ()) -> Purpose:
    """What may be asked of a switch of that name; sheets: all that say what it is for."""
    own = [c for sheet in sheets for c in sheet.spark.correction if _reads(c, name)]
    if not all(map(_is_mild, own)):
        return "watch"
    named = _by_name(name)
    if named != "watch":
        return named
    return "either" if own and all(map(_vouches, own)) and not hurts(name) else "watch"


@cache
def hurts(text: str) -> bool:
    """Whether a word in it says that turning it on may hurt, or off."""
    return len(text) > _LONGEST_NAME or armed(text) or _holds(text, "hurts")


@cache
def armed(text: str) -> bool:
    """Whether a word in it says that it is armed for full load only: nitrous, a launch."""
    return len(text) <= _LONGEST_NAME and _holds(text, "armed")


def _holds(text: str, section: str) -> bool:
    return any(
        part in spelling or part in _BETWEEN.sub("", spelling)
        for spelling in folded(text)
        for part in _words(section)
    )


@cache
def _by_name(name: str) -> Purpose:
    if len(name) > _LONGEST_NAME:
        return "watch"
    harmless, runs = _words("harmless"), _words("runs") | _meaning("fan")
    beside = _words("beside") | _meaning("status")
    for spelling in folded(name):
        parts = _parts(_BETWEEN.sub("", spelling), harmless | runs | beside)
        if parts and any(part in runs for part in parts):
            return "on"
        if parts and any(part in harmless for part in parts):
            return "either"
    return "watch"


def _parts(text: str, words: frozenset[str]) -> list[str]:
    """The words and numbers that make up all of a text, one after the other; empty if none do."""
    longest = max(map(len, words))
    ways: list[list[str] | None] = [[], *([None] * len(text))]
    for end in range(1, len(text) + 1):
        for start in range(max(0, end - longest), end):
            before, part = ways[start], text[start:end]
            if before is not None and (part in words or part.isdigit()):
                ways[end] = [*before, part]
                break  # the longest
    return ways[-1] or []


@cache
def _words(section: str) -> frozenset[str]:
    found: dict[str, set[str]] = {}
    words: set[str] = set()
    for line in _LISTED.read_text(encoding="utf-8").splitlines():
        if line.startswith("["):
            words = found.setdefault(line.strip("[]"), set())
        elif not line.startswith("#"):
            words |= {s.replace("_", "") for word in line.split() for s in folded(word)}
    return frozenset(found[section])


@cache
def _meaning(concept: str) -> frozenset[str]:
    """All words of the lexicon that may say a concept and nothing more."""
    said = frozenset([concept])
    return frozenset(word for word, readings_ in lexicon().words.items() if said in readings_)


def _reads(correction: Correction, name: str) -> bool:
    return any(name in (one.channel, one.minus, one.over) for one in readings(correction))


def _is_mild(correction: Correction) -> bool:
    """Whether nothing that a sheet says of a switch speaks against what its name says."""
    return (
        correction.reason in _MILD
        and correction.effect == "add"
        and not any(map(_gives, (correction.amount, correction.values)))
        and not any(hurts(text) for text in (correction.id, correction.title) if text)
    )


def _vouches(correction: Correction) -> bool:
    """Whether a mild correction is a driver's switch that is known to take advance."""
    return correction.reason == _DRIVERS and all(
        _takes(x) for x in (correction.amount, correction.values) if x is not None
    )


def _takes(values: object) -> bool:
    """Whether every number of a table is known and takes advance or does nothing."""
    if isinstance(values, tuple):
        return all(map(_takes, values))
    return isinstance(values, float | int) and values <= 0


def _gives(values: object) -> bool:
    """Whether any number of a table adds advance."""
    if isinstance(values, tuple):
        return any(map(_gives, values))
    return isinstance(values, float | int) and values > 0
