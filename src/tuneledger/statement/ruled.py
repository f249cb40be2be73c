"""Ruled columns on the paper of a statement: headings, numbers under them, leader dots."""

import math

from tuneledger.statement.paper import Line, Words, cells_in, fitted, line

Columns = tuple[tuple[str, int], ...]


def heading(first: str, columns: Columns, width: int) -> list[Line]:
    """The columns' names over a rule; `first` names what stands on the left."""
    names = [(name, "faint") for name, _ in columns]
    room = width - sum(size for _, size in columns)
    row = (Words(fitted(first, room), "faint"), *numbers(names, columns))
    return [row, line(Words("─" * width, "faint"))]


def leader(name: str, room: int) -> Line:
    """A posting's name, with leader dots to the first number."""
    filled = fitted(name, room).rstrip(" ")
    dots = room - cells_in(filled) - 1
    return line(Words(filled, "strong"), Words(" " + "·" * dots if dots > 0 else "", "faint"))


def numbers(cells: list[tuple[str, str]], columns: Columns) -> Line:
    """Texts with their ink, each right-aligned in its column."""
    out: list[Words] = []
    for (text, colour), (_, size) in zip(cells, columns, strict=True):
        out += [Words(" " * (size - cells_in(text))), Words(text, colour)]
    return tuple(out)


def ink(value: float | None) -> str:
    """The colour of a difference: taken or added; none for what rounds to nothing."""
    if value is None or not math.isfinite(value) or abs(value) < 0.05:
        return ""
    return "less" if value < 0 else "more"
