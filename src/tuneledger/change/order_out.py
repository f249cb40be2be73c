"""A change order as text for a terminal, and as JSON."""

from collections.abc import Iterator, Sequence
from typing import Any

from tuneledger.change.lines import Line
from tuneledger.change.order import FORMAT, Order
from tuneledger.change.paper import LABELS, changed_rows, page_width
from tuneledger.change.places import value_at
from tuneledger.change.rehearsal_out import plain_value
from tuneledger.statement.paper import Line as Row
from tuneledger.statement.paper import labelled, paragraph, printed, stacked
from tuneledger.statement.ruled import heading
from tuneledger.wording import sentence

MOST_BESIDES = 12


def as_json(order: Order) -> dict[str, Any]:
    """Plain values. Withheld, it holds the reasons and nothing that could be carried out."""
    out: dict[str, Any] = {
        "format": FORMAT,
        "revision": {
            "in_car": order.in_car.calibration.revision,
            "edited_from": order.in_car.calibration.revision,
            "first_sheet": order.statement.sheets[0].calibration.revision,
            "to": order.edited.revision,
            "file": order.file,
        },
        "withheld": list(order.withheld),
    }
    given = not order.withheld
    return out | {
        "questions": list(order.questions),
        "edits": [_line(one) for one in order.edits if given],
        "besides": [_line(one) for one in order.besides if given],
        "steps": list(order.steps),
        "log": list(order.to_log),
        "drive": list(order.drive),
        "cautions": [*(order.care if given else ()), *order.cautions],
    }


def _line(one: Line) -> dict[str, Any]:
    return {
        "place": one.place,
        "what": one.what,
        "before": plain_value(one.before),
        "after": plain_value(one.after),
    }


def as_text(order: Order, *, width: int = 80, colour: bool = False) -> str:
    """The order as text of at most `width` cells; plain where `colour` is off."""
    width = page_width(width)
    ink = "stop" if order.withheld or order.care else "strong"
    head = paragraph(order.headline, width, ink)
    if order.withheld:
        why = labelled("Why not", [sentence(text) for text in order.withheld], width, LABELS)
        care = labelled("Take care", order.cautions, width, LABELS)
        return printed(stacked([head, why, care]), colour)
    sections = [
        head,
        labelled("Care", order.care[1:], width, LABELS),
        list(_numbered("First ask", order.questions, width)),
        list(_lines("Edit", order.edits, width)),
        list(_numbered("Steps", order.steps, width)) if order.edits or order.besides else [],
        list(_lines("Loading it also changes", order.besides, width, MOST_BESIDES)),
        labelled("Log", [", ".join(order.to_log)] if order.to_log else [], width, LABELS)
        + list(_numbered("Drive", order.drive, width))
        + labelled("Take care", order.cautions, width, LABELS),
    ]
    return printed(stacked(sections), colour)


def _numbered(label: str, texts: Sequence[str], width: int) -> Iterator[Row]:
    """The texts under one label, numbered where there are several, each hanging from its number."""
    if len(texts) < 2:
        yield from labelled(label, texts, width, LABELS)
        return
    size = len(f"{len(texts)}. ")
    for i, text in enumerate(texts, 1):
        head = f"{label if i == 1 else '':<{LABELS}}{f'{i}.':<{size}}"
        yield from labelled(head, [text], width, LABELS + size)


def _lines(label: str, lines: Sequence[Line], width: int, most: int | None = None) -> Iterator[Row]:
    if not lines:
        return
    yield from heading(label, (), width)
    rows = [(o.what, value_at(o.place, o.before), value_at(o.place, o.after)) for o in lines]
    yield from changed_rows(rows, width, most, more=": read them all, see --json")
