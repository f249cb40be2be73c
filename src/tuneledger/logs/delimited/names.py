"""From a header cell to a channel's name and unit, and names that stand twice."""

import re
from collections.abc import Iterable

from tuneledger.logs.delimited.cells import is_missing
from tuneledger.logs.delimited.unitlike import is_unit
from tuneledger.units import parse_unit

_PAIRS = {"(": ")", "[": "]", "{": "}", "<": ">"}
_BRACKETED = re.compile(r"\(([^()]*)\)|\[([^\[\]]*)\]|\{([^{}]*)\}|<([^<>]*)>")
_SIGNED_UNIT = re.compile(r"(.*\S)\s+([%‰°]\S{0,6})")
_LONGEST = 16


def split_name(header: str) -> tuple[str, str]:
    """(name, unit) of a header cell: `Throttle (%)`, `Throttle [%]`, `Throttle / %`, `Throttle %`.

    What stands in brackets but is no unit (`Lambda (bank 1)`) stays in the name. Empty brackets
    and `[-]` say that there is no unit.
    """
    text = " ".join(header.split())
    for found in reversed(list(_BRACKETED.finditer(text))):
        inner = next(group for group in found.groups() if group is not None).strip()
        rest = " ".join((text[: found.start()] + " " + text[found.end() :]).split())
        if not rest:
            continue
        if not inner or is_missing(inner):
            return rest, ""
        last = found.end() == len(text)
        if _in_brackets_a_unit(inner, square=found.group().startswith("["), last=last):
            return rest, inner
    return _split_without_brackets(text)


def _in_brackets_a_unit(inner: str, *, square: bool, last: bool) -> bool:
    if is_unit(inner):
        return True
    # Square brackets at the end hold a unit by custom, even one that nobody here knows.
    return square and last and len(inner) <= _LONGEST and not re.search(r"\d$|\s", inner)


def _split_without_brackets(text: str) -> tuple[str, str]:
    name, slash, unit = text.rpartition(" / ")
    if slash and name and is_unit(unit):
        return name.strip(), unit.strip()
    name, slash, unit = text.rpartition("/")
    known = parse_unit(unit) is not None and unit != ""
    if slash and known and re.fullmatch(r"[^\s/]{2,}", name) and not is_unit(name):
        return name, unit
    signed = _SIGNED_UNIT.fullmatch(text)
    if signed and is_unit(signed[2]):
        return signed[1], signed[2]
    return text, ""


def plain_unit(cell: str) -> str:
    """A cell of a unit row without the brackets around it; "" where it says that there is none."""
    text = cell.strip()
    while len(text) > 1 and _PAIRS.get(text[0]) == text[-1]:
        text = text[1:-1].strip()
    return "" if is_missing(text) else text


def numbered(names: Iterable[str]) -> list[tuple[str, int]]:
    """(name, twin) for names in file order: the second of a name is `Name #2`, twin 2.

    Names are found without regard to case, so that two which differ in case alone are twins too.
    """
    seen: dict[str, int] = {}
    taken: set[str] = set()
    out = []
    for name in names:
        twin = seen.get(name.casefold(), 0) + 1
        unique = name if twin == 1 else f"{name} #{twin}"
        while unique.casefold() in taken:
            twin += 1
            unique = f"{name} #{twin}"
        seen[name.casefold()] = twin
        taken.add(unique.casefold())
        out.append((unique, twin))
    return out
