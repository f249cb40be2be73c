"""Changes on paper: a place and what stands there before and after, for a terminal."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import Any

from tuneledger.calibrations.tree import shown
from tuneledger.change.edits import Change
from tuneledger.statement.paper import Line, Words, line, paragraph, wrapped
from tuneledger.wording import MINUS

WIDEST, NARROWEST = 100, 40
LABELS = 11


def page_width(width: int) -> int:
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


def changes_on_paper(
    changes: Sequence[Change], width: int, most: int | None = None
) -> Iterator[Line]:
    """One row for each change where the width allows it; cut after `most` with a count."""
    kept = changes if most is None or len(changes) <= most + 1 else changes[:most]
    room = max((len(c.place) for c in kept), default=0) + 2
    for change in kept:
        before, after = value_words(change.before), value_words(change.after)
        if room + len(before) + len(after) + 4 <= width:
            yield line(change.place.ljust(room), before, " → ", Words(after, "strong"))
        else:
            yield from (line(Words(row, "")) for row in wrapped(change.place, width))
            yield from paragraph(f"{before} → {after}", width, indent=3)
    if len(kept) < len(changes):
        yield line(f"and {len(changes) - len(kept)} more, see --json")
