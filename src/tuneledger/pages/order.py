"""The change order as one sheet of paper."""

from collections.abc import Sequence

from tuneledger.change.lines import Line
from tuneledger.change.order import Order
from tuneledger.change.order_out import MOST_BESIDES
from tuneledger.change.places import value_at
from tuneledger.pages.names import name_of, text_of
from tuneledger.pages.still import density, listed, still
from tuneledger.pages.tag import Markup, tag
from tuneledger.statement import facts
from tuneledger.wording import count, sentence

_IN_A_TABLE = 10
_MOST_EDITS = 48


def order_page(order: Order) -> str:
    """The complete HTML; withheld, it holds the reasons and no edit."""
    title = name_of(order.edited.title) or "Change order"
    revision = name_of(order.edited.revision)
    wanted = f"to load: {revision}" if order.stands else f"new: {revision}"
    head = tag(
        "header",
        tag("p", "Change order", cls="what"),
        tag(
            "p",
            f"{title}; in the car: revision {name_of(order.in_car_called)}; "
            f"{wanted}; from {text_of(facts.logs(order.statement))}",
            cls="sources",
        ),
        tag("h1", text_of(order.headline)),
    )
    care = listed("Cautions", [text_of(text) for text in order.cautions])
    if order.withheld:
        why = listed("Why there is none", [sentence(text_of(t)) for t in order.withheld])
        return still(f"{title}: no change order", head, why, care)
    asked = (
        tag("div", listed("Answer first", [text_of(t) for t in order.questions]), cls="stop")
        if order.questions
        else Markup("")
    )
    first = " ".join(text_of(text) for text in order.care[1:])
    raised = tag("div", tag("p", first), cls="stop") if order.care else Markup("")
    body = [
        head,
        raised,
        asked,
        _lines("Edits", order.edits, _MOST_EDITS),
        tag(
            "div",
            listed("Steps, in this order", [text_of(t) for t in order.steps], numbered=True),
            _lines("Loading this file changes this too", order.besides, MOST_BESIDES),
            listed("Log next time", [text_of(", ".join(order.to_log))] if order.to_log else []),
            listed("How to drive", [text_of(t) for t in order.drive], numbered=True),
            cls="beside",
        ),
        care,
    ]
    return still(f"{title}: change order", *body, print_as=density(*body))


def _lines(title: str, lines: Sequence[Line], most: int) -> Markup:
    if not lines:
        return Markup("")
    kept = lines if len(lines) <= most + 1 else lines[:most]
    left = len(lines) - len(kept)
    more = f"and {count(left, 'more place')}: read them all in the JSON before loading"
    return tag(
        "section",
        tag("h2", title),
        _table(kept) if len(kept) <= _IN_A_TABLE else _columns(kept),
        tag("p", more, cls="soft") if left else "",
    )


def _table(lines: Sequence[Line]) -> Markup:
    heads = tag("tr", *(tag("th", name, scope="col") for name in ("", "Place", "Before", "After")))
    rows = [
        tag(
            "tr",
            tag("td", "☐", cls="tick"),
            tag("th", text_of(one.what), scope="row"),
            tag("td", _value(one, one.before)),
            tag("td", tag("b", _value(one, one.after))),
        )
        for one in lines
    ]
    return tag("table", tag("thead", heads), tag("tbody", *rows))


def _columns(lines: Sequence[Line]) -> Markup:
    """Many lines side by side, so that they fit on the sheet."""
    items = [
        tag(
            "li",
            f"☐ {text_of(one.what)}: {_value(one, one.before)} → ",
            tag("b", _value(one, one.after)),
        )
        for one in lines
    ]
    return tag("ul", *items, cls="columns")


def _value(one: Line, value: object) -> str:
    return text_of(value_at(one.place, value))
