"""From a header cell to a channel's name and unit, and names that stand twice."""

import re
from collections import Counter
from collections.abc import Iterable, Sequence

from tuneledger.logs.delimited.cells import is_missing
from tuneledger.logs.delimited.unitlike import is_unit
from tuneledger.record import record
from tuneledger.units import parse_unit

_PAIRS = {"(": ")", "[": "]", "{": "}", "<": ">"}
_BRACKETED = re.compile(r"\(([^()]*)\)|\[([^\[\]]*)\]|\{([^{}]*)\}|<([^<>]*)>")
_SIGNED_UNIT = re.compile(r"(.*\S)\s+([%‰°]\S{0,6})")
_UNIT_SIGN = re.compile(r"[°%‰µμ²³]|^[^\s/]{1,6}/[^\s/]{1,6}$")
_LONGEST = 16
_FEWEST = 3
_LONGEST_NAME = 200  # letters; what is longer is a text, and would be shown and searched whole
_PATH = 3  # names behind one word and a slash that are too many to be units of one quantity


@record
class Custom:
    """How one file's header writes: what a single name leaves open, the others decide.

    bracket: the bracket in which most names have their unit, "" where none is
    slash:   most names have their unit behind a slash, so that short ones do too (`n/rpm`)
    path:    a slash leads from a word to several channels (`eng/volts`, `eng/map`)
    rests:   names without what stands in brackets → how often
    """

    bracket: str = ""
    slash: bool = False
    path: bool = False
    rests: Counter[str] | None = None


NO_CUSTOM = Custom()


def custom_of(headers: Sequence[str]) -> Custom:
    """The custom of a header, told from the names that are clear."""
    texts = [shortened(" ".join(header.split())) for header in headers]
    ends = [m for text in texts if (m := _BRACKETED.search(text)) and m.end() == len(text)]
    marks = Counter(m.group()[0] for m in ends if is_unit(m.group()[1:-1]))
    bracket, often = marks.most_common(1)[0] if marks else ("", 0)
    tails: dict[str, set[str]] = {}
    for text in texts:
        head, mark, tail = text.partition("/")
        if mark:
            tails.setdefault(head.casefold(), set()).add(tail.casefold())
    path = any(
        len(own) >= _PATH or (len(own) > 1 and not all(map(is_unit, own))) for own in tails.values()
    )
    usual = often >= _FEWEST and 2 * often >= len([m for m in ends if m.group()[0] == bracket])
    rests = Counter(m.string[: m.start()].strip().casefold() for m in ends)
    behind = sum(len(own) == 1 and all(map(_known, own)) for own in tails.values())
    slash = behind >= _FEWEST and 2 * behind >= len(texts)
    return Custom(bracket if usual else "", slash, path, rests)


def shortened(name: str) -> str:
    """A name, cut where no name is so long."""
    return name if len(name) <= _LONGEST_NAME else f"{name[: _LONGEST_NAME - 1]}…"


def split_name(header: str, custom: Custom = NO_CUSTOM) -> tuple[str, str]:
    """(name, unit) of a header cell: `Throttle (%)`, `Throttle [%]`, `Throttle / %`, `Throttle %`.

    What stands in brackets but is no unit (`Lambda (bank 1)`) stays in the name. Empty brackets
    and `[-]` say that there is no unit. custom: what the whole header shows of its way of writing
    """
    text = shortened(" ".join(header.split()))
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
        if last and found.group()[0] == custom.bracket and _must_be_a_unit(inner, rest, custom):
            return rest, inner
    return _split_without_brackets(text, custom)


def _must_be_a_unit(inner: str, rest: str, custom: Custom) -> bool:
    """Where units stand in such brackets: a 1, or what has a unit's sign in it and no blank."""
    if inner == "1":
        return custom.rests is None or custom.rests[rest.casefold()] < 2
    return len(inner) <= _LONGEST and _UNIT_SIGN.search(inner) is not None


def _in_brackets_a_unit(inner: str, *, square: bool, last: bool) -> bool:
    if is_unit(inner):
        return True
    # Square brackets at the end hold a unit by custom, even one that nobody here knows.
    return square and last and len(inner) <= _LONGEST and not re.search(r"\d$|\s", inner)


def _split_without_brackets(text: str, custom: Custom) -> tuple[str, str]:
    name, slash, unit = text.rpartition(" / ")
    if slash and name and is_unit(unit):
        return name.strip(), unit.strip()
    name, slash, unit = text.rpartition("/")
    if slash and name and _known(unit) and not custom.path:
        plain = re.fullmatch(r"[^\s/]{2,}", name) and not is_unit(name)
        if plain or custom.slash:
            return name, unit
    signed = _SIGNED_UNIT.fullmatch(text)
    if signed and is_unit(signed[2]):
        return signed[1], signed[2]
    return text, ""


def _known(unit: str) -> bool:
    return unit != "" and parse_unit(unit) is not None


def plain_unit(cell: str) -> str:
    """A cell of a unit row without the brackets around it; "" where it says that there is none."""
    text = shortened(cell.strip())
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
