"""Changes on paper: a place and what stands there before and after, for a terminal."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import Any

from tuneledger.calibrations.tree import shown
from tuneledger.statement.paper import Line, Words, line, paragraph
from tuneledger.wording import MINUS, count

WIDEST, NARROWEST = 100, 40
LABELS = 11


def page_width(width: int) -> int:
    """A width in characters, brought within what a page is set in."""
    return max(min(width, WIDEST), NARROWEST)


def value_words(value: Any, most: int = 60) -> str:
    """What stands in a sheet, as a person reads it; a long list is cut."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "on" if value else "off"
    if isinstance(value, datetime | date):
        return value.isoformat(sep=" ") if isinstance(value, datetime) else value.isoformat()
    if isinstance(value, list | tuple) and all(isinstance(x, int | float | str) for x in value):
        text = ", ".join(value_words(x) for x in value)
        return text if len(text) <= most else f"{text[: most - 1]}…"
    if isinstance(value, dict):
        name = value.get("title") or value.get("id")
        return f"the correction '{name}'" if name else shown(value)
    return value if isinstance(value, str) else shown(value).replace("-", MINUS)


def changed_rows(
    rows: Sequence[tuple[str, str, str]],
    width: int,
    most: int | None = None,
    *,
    more: str = ", see --json",
) -> Iterator[Line]:
    """What stands at a place, before and after: one row each where the width allows it.

    Cut after `most`, with a count of what is left; `more` says where to read that.
    """
    kept = rows if most is None or len(rows) <= most + 1 else rows[:most]
    room = max((len(what) for what, _, _ in kept), default=0) + 2
    for what, before, after in kept:
        if room + len(before) + len(after) + 3 <= width:
            yield line(what.ljust(room), before, " → ", Words(after, "strong"))
        else:
            yield from paragraph(what, width)
            yield from paragraph(f"{before} → {after}", width, indent=3)
    if len(kept) < len(rows):
        yield line(f"and {count(len(rows) - len(kept), 'more place')}{more}")
