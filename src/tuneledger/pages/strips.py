"""Pictures for files: a window of the strips, or the map with its visits, as one SVG.

For a report or a post: it looks like the page, on light paper, and needs nothing beside itself.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.errors import Fault, UsageError
from tuneledger.ledger.model import Ledger
from tuneledger.pages.figure import Frame, span
from tuneledger.pages.map_figure import map_figure
from tuneledger.pages.names import correction_name, name_of, text_of
from tuneledger.pages.proof import NUMBER, Proof, proofs
from tuneledger.pages.tag import Markup, join, tag
from tuneledger.pages.visits import grid
from tuneledger.statement.model import LogAccount, Statement
from tuneledger.wording import count, degrees, quantity, unit_words

WIDTH = 900
_PROVING = 3  # channels of a cause that are drawn
_ROOM, _LEAST = 0.35, 0.4  # of the window's length, and seconds, left free at either side
_ENTRY_LEAST = 0.005  # degrees
_STYLE = """
svg { background: #fcfcf9; font: 12px system-ui, "Segoe UI", Arial, sans-serif; }
text { fill: #1a1f25; } .soft { fill: #5a6169; } .strong { font-weight: 600; font-size: 14px; }
.grid { stroke: #dfe6e7; } .zero { stroke: #1a1f25; }
.rule { stroke: #5a6169; stroke-dasharray: 2 3; }
path { fill: none; stroke: #1a1f25; stroke-width: 1.3; }
.asked { stroke-dasharray: 5 3; } .given { stroke-width: 1.9; }
.band { stroke: none; opacity: 0.42; } .takes { fill: #1c62a6; } .adds { fill: #b3540c; }
.light { opacity: 0.22; } .cell { stroke: #d5d5cd; } .middle { text-anchor: middle; }
"""


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of one log. `cause`: index of the cause whose channels are drawn with it."""

    log: int
    start_s: float
    end_s: float
    cause: int | None


def figure(statement: Statement, what: str = "") -> str:
    """The SVG's text.

    what: `cause 2` for a cause's window, `12.4-18` for seconds of the first log, `map` for the map
          and its visits; "" for the first cause, or the whole first log where there is none
    Raises UsageError where there is no such thing to draw.
    """
    if what.strip().lower() == "map":
        cells = grid(statement)
        if cells is None:
            raise _nothing("there is no map: neither a sheet nor speed and load in the log")
        return _document(map_figure(statement, cells, WIDTH))
    window = _window(statement, what.strip().lower())
    books = statement.logs[window.log]
    if books.ledger is None:
        raise _nothing(f"there is no account of {books.log.file}")
    return _document(_strips(statement, books, books.ledger, window))


def _window(statement: Statement, what: str) -> Window:
    if found := re.fullmatch(r"(?:cause )?(\d+)", what):
        return _of_cause(statement, int(found[1]) - 1)
    if found := re.fullmatch(r"(\d+(?:\.\d+)?)\s*(?:-|–|to)\s*(\d+(?:\.\d+)?)", what):
        start, end = float(found[1]), float(found[2])
        if not start < min(end, statement.logs[0].log.duration_s):
            raise _nothing(f"there is nothing from {start:g} to {end:g} s in the first log")
        return Window(0, start, min(end, statement.logs[0].log.duration_s), _first(statement))
    if what:
        raise UsageError(
            Fault(
                f"'{name_of(what)}' is nothing that can be drawn",
                expected="'cause 2', seconds such as '12.4-18', or 'map'",
            )
        )
    if _first(statement) is not None and statement.causes[0].episodes:
        return _of_cause(statement, 0)
    return Window(0, 0.0, statement.logs[0].log.duration_s, _first(statement))


def _first(statement: Statement) -> int | None:
    return 0 if statement.causes else None


def _of_cause(statement: Statement, index: int) -> Window:
    """A cause's longest episode, with some room at either side."""
    if not 0 <= index < len(statement.causes):
        raise _nothing(
            f"there are {count(len(statement.causes), 'cause')}, and no cause {index + 1}"
        )
    own = [statement.episodes[i] for i in statement.causes[index].episodes]
    if not own:
        return Window(0, 0.0, statement.logs[0].log.duration_s, index)
    longest = max(own, key=lambda e: e.end_s - e.start_s)
    room = max(_LEAST, (longest.end_s - longest.start_s) * _ROOM)
    end = min(longest.end_s + room, statement.logs[longest.log].log.duration_s)
    return Window(longest.log, max(0.0, longest.start_s - room), end, index)


def _nothing(found: str) -> UsageError:
    return UsageError(Fault(found, do="Name something else to draw."))


def _strips(
    statement: Statement, books: LogAccount, ledger: Ledger, window: Window
) -> list[Markup]:
    """The parts of the picture, one under another, each strip under its caption."""
    rows = (ledger.times >= window.start_s) & (ledger.times <= window.end_s)
    parts = [*_balance(ledger, rows, window), *_entries(statement, ledger, rows, window)]
    if window.cause is not None:
        found = proofs(statement.causes[window.cause], books, statement.sheets)[:_PROVING]
        parts += [part for proof in found for part in _channel(books, proof, window)]
    title = text_of(statement.headline)
    return [_title(title, name_of(books.log.file)), *parts]


def _title(text: str, file: str) -> Markup:
    lines = _wrapped(text, 112)
    said = [
        tag("text", line, x="8", y=str(18 + 17 * i), cls="strong") for i, line in enumerate(lines)
    ]
    below = 18 + 17 * len(lines)
    said.append(tag("text", file, x="8", y=str(below), cls="soft"))
    return _part(below + 8, *said)


def _wrapped(text: str, most: int) -> list[str]:
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + len(word) >= most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _balance(ledger: Ledger, rows: BoolArray, window: Window) -> list[Markup]:
    """Scheduled dashed, delivered solid, the gap between them by sign."""
    own = rows & ledger.own & ~ledger.void
    t = ledger.times[own]
    scheduled, delivered = ledger.scheduled[own], ledger.delivered[own]
    frame = _frame(window, span([scheduled, delivered]), 230)
    more, less = np.fmax(scheduled, delivered), np.fmin(scheduled, delivered)
    drawn = frame.drawn(
        "Scheduled and delivered spark advance",
        *_between(frame, t, scheduled, more, "adds"),
        *_between(frame, t, less, scheduled, "takes"),
        frame.path(t, scheduled, "asked"),
        frame.path(t, delivered, "given"),
        height="230",
    )
    says = "Spark advance, degrees: scheduled dashed, delivered solid; blue below, orange above"
    return [_caption(says), drawn]


def _between(
    frame: Frame, t: FloatArray, low: FloatArray, high: FloatArray, cls: str
) -> Iterator[Markup]:
    """Bands where the two lines stand apart, one for each unbroken stretch."""
    known = np.isfinite(low) & np.isfinite(high)
    apart = known & (np.nan_to_num(high - low) > 0)
    wide: BoolArray = apart.copy()
    wide[:-1] |= apart[1:]
    wide[1:] |= apart[:-1]
    wide &= known
    edges = np.flatnonzero(np.diff(wide.astype(np.int8), prepend=0, append=0))
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        stretch = slice(int(start), int(end))
        band = frame.band(t[stretch], low[stretch], high[stretch])
        yield Markup(band.replace('class="band"', f'class="band {cls}"'))


def _entries(statement: Statement, ledger: Ledger, rows: BoolArray, window: Window) -> list[Markup]:
    """What was added stacked above zero, what was taken below it."""
    own = rows & ledger.own & ~ledger.void
    t = ledger.times[own]
    parts = [(e.correction, e.revision, np.nan_to_num(e.values[own])) for e in ledger.entries]
    acting = [p for p in parts if p[2].size and np.abs(p[2]).max() > _ENTRY_LEAST]
    above, below = np.zeros(t.shape), np.zeros(t.shape)
    bands: list[tuple[FloatArray, FloatArray, str]] = []
    words = []
    for place, (correction, revision, values) in enumerate(acting):
        up, down = above + np.fmax(values, 0), below + np.fmin(values, 0)
        light = " light" if place % 2 else ""
        bands += [(above, up, f"adds{light}"), (down, below, f"takes{light}")]
        above, below = up, down
        low, high = float(values.min()), float(values.max())
        most = high if high > -low else low
        words.append(
            f"{correction_name(correction, revision, statement.sheets)} {degrees(most)} at most"
        )
    frame = _frame(window, span([above, below, np.zeros(1)]), 150)
    drawn = (band for low, high, cls in bands for band in _between(frame, t, low, high, cls))
    said = "; ".join(words) or "nothing was added or taken"
    return [_caption(f"Entries, degrees: {said}"), frame.drawn("Entries", *drawn, height="150")]


def _channel(books: LogAccount, proof: Proof, window: Window) -> list[Markup]:
    channel = proof.channel
    t, values = books.log.times(channel), books.log.values(channel)
    rows = (t >= window.start_s) & (t <= window.end_s) & np.isfinite(values)
    near = [line for line in proof.lines if rows.any() and _close(line.at, values[rows])]
    shown = [values[rows], np.array([line.at for line in near])]
    frame = _frame(window, span(shown), 120)
    rules = []
    for line in near:
        left, y = frame.at(window.start_s, line.at)
        right, _ = frame.at(window.end_s, line.at)
        says = line.says.replace(NUMBER, quantity(line.at, channel.unit))
        rules.append(
            tag(
                "line",
                x1=f"{left:.1f}",
                x2=f"{right:.1f}",
                y1=f"{y:.1f}",
                y2=f"{y:.1f}",
                cls="rule",
            )
        )
        rules.append(
            tag("text", says, x=f"{right - 4:.1f}", y=f"{y - 3:.1f}", text_anchor="end", cls="soft")
        )
    name = name_of(channel.name)
    path = frame.path(t[rows], values[rows], "value")
    caption = ", ".join(part for part in (name, unit_words(channel.unit)) if part)
    return [_caption(caption), frame.drawn(name, path, *rules, height="120")]


def _close(at: float, values: FloatArray) -> bool:
    """Whether a threshold is near enough to be drawn without flattening the line."""
    low, high = float(values.min()), float(values.max())
    return low - (high - low) <= at <= high + (high - low)


def _frame(window: Window, up: tuple[float, float], height: int) -> Frame:
    return Frame((window.start_s, window.end_s), up, "s", "", width=WIDTH, height=height)


def _caption(text: str) -> Markup:
    return _part(16, tag("text", text, x="8", y="12", cls="soft"))


def _part(height: float, *parts: Markup) -> Markup:
    return tag("svg", *parts, height=f"{height:g}")


def _document(parts: list[Markup]) -> str:
    """The parts one under another in one SVG of its own."""
    placed, y = [], 0.0
    for part in parts:
        found = re.match(r'<svg[^>]*? height="([\d.]+)"', part)
        height = float(found[1]) if found else 0.0
        placed.append(Markup(part.replace("<svg", f'<svg x="0" y="{y:g}" width="{WIDTH}"', 1)))
        y += height
    whole = tag(
        "svg",
        tag("style", Markup(_STYLE)),
        tag("rect", width=str(WIDTH), height=f"{math.ceil(y)}", fill="#fcfcf9"),
        *placed,
        xmlns="http://www.w3.org/2000/svg",
        width=str(WIDTH),
        height=f"{math.ceil(y)}",
        viewBox=f"0 0 {WIDTH} {math.ceil(y)}",
    )
    return join(whole, Markup("\n"))
