"""A picture for a file, put together from parts: titles, keys, and labels that never overprint."""

import math
import re
from collections.abc import Sequence

from tuneledger.pages import hatching
from tuneledger.pages.tag import Markup, join, tag
from tuneledger.record import record

WIDTH = 960
LEFT = 52  # of every strip, where its figures stand
GUTTER = 132  # at its right, where labels stand beside the lines that they name
LABEL = 14.0  # from one label to the next at least
_STYLE = """
svg { background: #fcfcf9; font-family: "Segoe UI", "Helvetica Neue", Arial, "Liberation Sans",
  "Noto Sans", "DejaVu Sans", sans-serif; font-size: 12px; }
text { fill: #1a1f25; } .soft { fill: #5a6169; } .strong { font-weight: 600; font-size: 15px; }
.named { font-weight: 600; } .small { font-size: 11px; }
.grid { stroke: #dfe6e7; } .zero { stroke: #1a1f25; }
.rule { stroke: #5a6169; stroke-dasharray: 2 3; } .lead { stroke: #9aa1a6; stroke-width: 0.8; }
path { fill: none; stroke: #1a1f25; stroke-width: 1.3; stroke-linejoin: round; }
.asked { stroke-dasharray: 5 3; } .given { stroke-width: 1.9; }
line.asked, line.given { stroke: #1a1f25; } line.asked { stroke-width: 1.3; }
.band { stroke: none; fill-opacity: 0.45; }
.cell { stroke: #d5d5cd; } .middle { text-anchor: middle; }
"""
# Widths of common sans letters at 12 px, from memory; good enough to break lines by.
_WIDE, _USUAL, _THIN, _BOLD = 10.5, 7.3, 3.9, 1.15


@record
class Key:
    """One entry of a legend: `marks` are classes of small squares, or of a line's sample."""

    text: str
    marks: tuple[str, ...]
    line: bool = False


def part(height: float, *parts: Markup) -> Markup:
    """A stretch of the picture of this height, in pixels."""
    return tag("svg", *parts, height=f"{height:g}")


def title(text: str, below: str) -> Markup:
    """What the picture says, in bold, and under it in small where it is from."""
    lines = wrapped(text, WIDTH - 16, _BOLD * 15.0 / 12.0)
    said = [put(line, 8, 22 + 19 * i, "strong") for i, line in enumerate(lines)]
    foot = 22 + 19 * len(lines)
    return part(foot + 8, *said, put(below, 8, foot, "soft"))


def caption(name: str, keys: Sequence[Key] = ()) -> Markup:
    """The name of a strip, and what its colours and lines mean, in as many rows as that takes."""
    drawn = [put(name, 8, 14, "named")]
    x, y = 8 + wide(name) * _BOLD + 16, 14.0
    for key in keys:
        size = 28 if key.line else 13 * len(key.marks) + 4
        for i, text in enumerate(wrapped(key.text, WIDTH - 40 - size)):
            needs = wide(text) + (size if i == 0 else 0)
            if i or x + needs > WIDTH - 8:
                x, y = (24.0 if i == 0 else 24.0 + size), y + 17
            if i == 0:
                drawn += _marks(key, x, y)
                x += size
            drawn.append(put(text, x, y, "soft"))
            x += wide(text) + 18
    return part(y + 6, *drawn)


def _marks(key: Key, x: float, y: float) -> list[Markup]:
    if key.line:
        place = {"x1": f"{x:.1f}", "x2": f"{x + 22:.1f}", "y1": f"{y - 4:.1f}"}
        return [tag("line", **place, y2=f"{y - 4:.1f}", cls=key.marks[0])]
    return [
        tag(
            "rect",
            x=f"{x + 13 * i:.1f}",
            y=f"{y - 9:.1f}",
            width="11",
            height="10",
            cls=f"band {mark}",
        )
        for i, mark in enumerate(key.marks)
    ]


def put(text: str, x: float, y: float, cls: str | None = None, anchor: str | None = None) -> Markup:
    """A line of text with its baseline at `y`."""
    return tag("text", text, x=f"{x:.1f}", y=f"{y:.1f}", text_anchor=anchor, cls=cls)


def wide(text: str) -> float:
    """About how many pixels a line of text takes at 12 px."""
    thin = sum(letter in "iljtf.,:;'|! ()−·" for letter in text)
    broad = sum(letter in "mwMWQ%@—" or ord(letter) > 0x2E80 for letter in text)
    return _THIN * thin + _WIDE * broad + _USUAL * (len(text) - thin - broad)


def wrapped(text: str, room: float, scale: float = 1.0) -> list[str]:
    """A text in lines of at most so many pixels, broken at blanks; `scale` over 12 px."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and wide(longer) * scale > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def beside(wanted: Sequence[tuple[float, str]], low: float, high: float) -> list[tuple[int, float]]:
    """Where labels stand so that none lies over another: (index, y) of those that fit.

    wanted: (y, text), the most important first; low, high: the room's ends, top first, in pixels
    Each label stands as near to its line as the others let it; what finds no room is left out.
    """
    most = max(1, int((high - low) // LABEL) + 1)
    kept = sorted(range(min(len(wanted), most)), key=lambda i: wanted[i][0])
    places: list[float] = []
    for i in kept:
        floor = places[-1] + LABEL if places else low
        places.append(max(wanted[i][0], floor))
    ceiling = high
    for place in reversed(range(len(places))):
        places[place] = min(places[place], ceiling)
        ceiling = places[place] - LABEL
    return list(zip(kept, places, strict=True))


def document(parts: Sequence[Markup]) -> str:
    """The parts one under another in one SVG of its own."""
    placed, y = [], 0.0
    for each in parts:
        found = re.match(r'<svg[^>]*? height="([\d.]+)"', each)
        height = float(found[1]) if found else 0.0
        placed.append(Markup(each.replace("<svg", f'<svg x="0" y="{y:g}" width="{WIDTH}"', 1)))
        y += height
    whole = tag(
        "svg",
        tag("style", Markup(_STYLE + hatching.STYLE)),
        hatching.patterns(),
        tag("rect", width=str(WIDTH), height=f"{math.ceil(y)}", fill="#fcfcf9"),
        *placed,
        xmlns="http://www.w3.org/2000/svg",
        width=str(WIDTH),
        height=f"{math.ceil(y)}",
        viewBox=f"0 0 {WIDTH} {math.ceil(y)}",
    )
    return join(whole, Markup("\n"))
