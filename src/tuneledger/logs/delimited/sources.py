"""Names with the source that measured them behind a backslash: `air\\Bus:1`, `n\\Gateway`.

What measures over several ports writes so, in MDF and in the tables exported from it.
"""

import re
from collections.abc import Sequence

_MARK = "\\"
_NUMBERED = re.compile(r".*[^\s:]:\d+")  # a source with the number of its device


def channel_parts(names: Sequence[str]) -> list[tuple[str, str]]:
    """(name, source) of each name of one log; the source is "" where there is none.

    A backslash may as well lead from a folder to what is in it (`Engine\\Speed`). A source has a
    number behind a colon, or stands behind many names; a folder stands before many.
    """
    parts = [_split(name) for name in names]
    open_parts = [(name, tail) for name, tail in parts if tail]
    heads = {name.casefold() for name, _ in open_parts}
    tails = {tail.casefold() for _, tail in open_parts}
    many = 2 * len(tails) <= len(heads)
    return [
        (name, tail) if tail and (many or _NUMBERED.fullmatch(tail)) else (whole, "")
        for whole, (name, tail) in zip(names, parts, strict=True)
    ]


def without_sources(names: Sequence[str]) -> list[str]:
    """The names without their sources, but for those that only their sources tell apart."""
    parts = channel_parts(names)
    sources: dict[str, set[str]] = {}
    for name, source in parts:
        sources.setdefault(name.casefold(), set()).add(source.casefold())
    return [
        name if len(sources[name.casefold()]) == 1 else whole
        for whole, (name, _) in zip(names, parts, strict=True)
    ]


def _split(name: str) -> tuple[str, str]:
    head, mark, tail = name.partition(_MARK)
    return (head.strip(), tail.strip()) if mark and head.strip() and tail.strip() else (name, "")
