"""Units that say from where they are counted: `° v. OT`, `deg before TDC`, `mbar abs`."""

import re
import unicodedata
from dataclasses import replace
from functools import cache

from tuneledger.units.spellings import plain, qualifiers, spellings
from tuneledger.units.table import Unit

_PARTS = re.compile(r"[\s._,/()\[\]\-]+")
_DEGREE = re.compile(r"^(?:°|degrees?|degs?|grad|d)(?=\w)")


def qualified(text: str) -> Unit | None:
    """The unit of a text that is one and words of where it is counted from, or None.

    An angle of the crank is one in degrees, counted before top dead centre or not: the sign is
    told by the numbers. A pressure above the outside air or absolute is told apart by `gauge`.
    """
    low = unicodedata.normalize("NFKC", text).translate(_MARKS).casefold()
    parts = [part for part in _PARTS.split(low) if part]
    if not parts:
        return None
    return _crank_angle(parts) or _pressure(parts)


_MARKS = str.maketrans({"˚": "°", "º": "°", "\ufffd": "°"})


def _crank_angle(parts: list[str]) -> Unit | None:
    degree = spellings()[0]["deg"]
    rest = [part for part in parts if _known(part) is not degree]
    bare = [_DEGREE.sub("", part, count=1) for part in rest]
    if len(rest) == len(parts) and bare == rest:
        return None
    return degree if all(word in qualifiers("deg") for word in bare) else None


def _pressure(parts: list[str]) -> Unit | None:
    for n in range(1, len(parts)):
        unit, rest = _known("".join(parts[:n])), parts[n:]
        if unit is None or unit.kind != "pressure":
            continue
        for gauge, name in ((False, "absolute"), (True, "gauge")):
            if all(word in qualifiers(name) for word in rest):
                own = spellings()[0].get(unit.symbol + ("g" if gauge else "a"))
                return own or replace(unit, gauge=gauge)
    return None


@cache
def _known(word: str) -> Unit | None:
    exact, folded = spellings()
    return exact.get(plain(word)) or folded.get(plain(word).casefold())
