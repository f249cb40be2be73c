"""Markup from plain values: text is escaped, only what was made here counts as markup."""

from html import escape

_EMPTY = frozenset({"meta", "br", "hr", "col", "link", "input"})


class Markup(str):
    """Text that is markup already."""

    __slots__ = ()


NOTHING = Markup("")


def tag(name: str, /, *children: str, **attributes: str | bool | None) -> Markup:
    """An element. `cls` is the class; `_` in a name stands for `-`; None and False leave it out."""
    given = []
    for key, value in attributes.items():
        if value is None or value is False:
            continue
        word = "class" if key == "cls" else key.replace("_", "-")
        given.append(f" {word}" if value is True else f' {word}="{escape(str(value))}"')
    opened = f"<{name}{''.join(given)}>"
    if name in _EMPTY:
        return Markup(opened)
    return Markup(f"{opened}{join(*children)}</{name}>")


def join(*children: str) -> Markup:
    """Children one after the other; what is not markup is escaped."""
    return Markup("".join(c if isinstance(c, Markup) else escape(c) for c in children))


def table(heads: list[str], rows: list[list[str]], cls: str | None = None) -> Markup:
    """A table with one row of headings; the first cell of each row is its heading."""
    head = tag("tr", *(tag("th", text, scope="col") for text in heads))
    body = [
        tag("tr", tag("th", row[0], scope="row"), *(tag("td", cell) for cell in row[1:]))
        for row in rows
    ]
    return tag("table", tag("thead", head), tag("tbody", *body), cls=cls)
