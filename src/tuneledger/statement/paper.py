"""Lines of a statement: words in a few inks, laid out by the width that a terminal gives them.

Widths count terminal cells, since letters of some scripts take two. Everything that comes from a
file goes through `visible`, here, so that nobody can forget it. Two colours only, which
colour-blind people can tell apart and which read on light and on dark; both stand beside a sign.
"""

import re
from collections.abc import Iterable, Sequence

from tuneledger.record import record
from tuneledger.wording import visible

INKS = {
    "strong": "1",
    "stop": "1;38;5;166",
    "faint": "2",
    "less": "38;5;32",  # blue: fewer degrees, retard
    "more": "38;5;166",  # orange: more degrees, advance
}
# A number keeps its unit on its line.
_GLUE = re.compile(r"(?<=\d) (?=(?:s|min|h|Hz|kPa|rpm|%|°C|°F|V)\b|%)")
_HELD = "\N{NO-BREAK SPACE}"
# Signs of which each takes one cell: Latin, Greek, Cyrillic, and what we put among them ourselves.
_NARROW = re.compile(
    "[ -~\u00a0-\u02ff\u0370-\u0482\u048a-\u052f\u2010-\u2027\u2030-\u205e\u2070-\u209c"
    "\u2100-\u218b\u2190-\u2319\u2500-\u25fc]*"
)


@record
class Words:
    """Text in one ink; "" is the terminal's own."""

    text: str
    ink: str = ""

    def shown(self, colour: bool) -> str:
        code = INKS.get(self.ink) if colour and self.text else None
        return f"\x1b[{code}m{self.text}\x1b[0m" if code else self.text


Line = tuple[Words, ...]


def line(*parts: str | Words) -> Line:
    """A line of these parts; plain text is in no colour."""
    return tuple(part if isinstance(part, Words) else Words(part) for part in parts)


def wrapped(text: str, width: int) -> list[str]:
    """The text on lines of at most `width` cells; a word that is longer is cut."""
    shown = visible(text)
    if cells_in(shown) <= width:
        return [shown.rstrip()]
    out: list[str] = []
    taken = 0  # cells of the last line
    for word in _GLUE.sub(_HELD, shown).split(" "):
        size = cells_in(word)
        if out and taken + 1 + size <= width:
            out[-1] += f" {word}"
            taken += 1 + size
            continue
        out += [word] if size <= width else _cut(word, width)
        taken = cells_in(out[-1])
    return [row.replace(_HELD, " ").rstrip() for row in out]


def cells_in(text: str) -> int:
    """How many cells of a terminal a text takes."""
    if _NARROW.fullmatch(text):
        return len(text)
    from rich.cells import cell_len  # only for what may be wide: it costs more than most commands

    return cell_len(text)


def _cut(word: str, width: int) -> list[str]:
    from rich.cells import cell_len, split_graphemes

    rows = [""]
    for start, end, size in split_graphemes(word)[0]:
        if rows[-1] and cell_len(rows[-1]) + size > width:
            rows.append("")
        rows[-1] += word[start:end]
    return rows


def paragraph(text: str, width: int, ink: str = "", indent: int = 0) -> list[Line]:
    """A text broken into lines.

    width, indent: characters; ink: the colour's name, empty for none
    """
    rows = wrapped(text, max(width - indent, 12))
    return [line(" " * indent, Words(row, ink)) for row in rows]


def labelled(label: str, texts: Iterable[str], width: int, column: int) -> list[Line]:
    """A label in its column, and texts beside it, each from a new line."""
    rows = [row for text in texts for row in wrapped(text, max(width - column, 12))]
    heads = [label] + [""] * (len(rows) - 1)
    return [
        line(Words(head.ljust(column), "faint"), row)
        for head, row in zip(heads, rows, strict=False)
    ]


def fitted(text: str, width: int) -> str:
    """The text in exactly `width` cells: filled up, or cut with an ellipsis."""
    text = visible(text)
    spare = width - cells_in(text)
    if spare >= 0:
        return text + " " * spare
    kept = _cut(text, max(width - 1, 1))[0] + "…"
    return kept + " " * (width - cells_in(kept))


def stacked(sections: Iterable[Sequence[Line]]) -> list[Line]:
    """The sections that hold something, one under the other, with an empty line between."""
    out: list[Line] = []
    for section in sections:
        if section:
            out += [*([line()] if out else []), *section]
    return out


def printed(lines: Iterable[Line], colour: bool) -> str:
    """The lines as text, without spaces at their ends."""
    rows = []
    for row in lines:
        kept = list(row)
        while kept and not kept[-1].text.rstrip():
            kept.pop()
        if kept:
            kept[-1] = Words(kept[-1].text.rstrip(), kept[-1].ink)
        rows.append("".join(words.shown(colour) for words in kept))
    return "\n".join(rows) + "\n"
