"""Pictures for files: a window of the strips, or the map with its visits, as one SVG.

For a report or a post: it looks like the page, on light paper, and needs nothing beside itself.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import cycle

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.ledger.model import Ledger
from tuneledger.pages.channels import holds
from tuneledger.pages.figure import Frame, span
from tuneledger.pages.hatching import HATCHED
from tuneledger.pages.map_figure import map_figure
from tuneledger.pages.names import entry_words, name_of, text_of
from tuneledger.pages.picture import GUTTER, WIDTH, Key, beside, caption, document, put, title
from tuneledger.pages.proof import NUMBER, Line, Proof, proofs
from tuneledger.pages.tag import Markup, tag
from tuneledger.pages.visits import grid
from tuneledger.pages.window import Window, nothing, window_of
from tuneledger.statement.model import LogAccount, Statement
from tuneledger.wording import MINUS, degree_span, degrees, quantity, time_span, unit_words

_PROVING = 3  # channels of a cause that are drawn
_ENTRY_LEAST = 0.005  # degrees
_BALANCE, _ENTRIES, _CHANNEL, _FOOT = 210, 116, 92, 26


def figure(statement: Statement, what: str = "") -> str:
    """The SVG's text.

    what: `cause 2` for a cause's window, `12.4-18` for seconds of the first log, `map` for the map
          and its visits; "" for the first cause, or the whole first log where there is none
    Raises UsageError where there is no such thing to draw.
    """
    if what.strip().lower() == "map":
        cells = grid(statement)
        if cells is None:
            raise nothing("there is no map: neither a sheet nor speed and load in the log")
        return document(map_figure(statement, cells))
    window = window_of(statement, what.strip().lower())
    books = statement.logs[window.log]
    if books.ledger is None:
        raise nothing(f"there is no account of {books.log.file}")
    return document(_strips(statement, books, books.ledger, window))


def _strips(
    statement: Statement, books: LogAccount, ledger: Ledger, window: Window
) -> list[Markup]:
    """The parts of the picture, one under another, each strip under its caption."""
    rows = (ledger.times >= window.start_s) & (ledger.times <= window.end_s)
    found: list[Proof] = []
    if window.cause is not None:
        found = proofs(statement.causes[window.cause], books, statement.sheets)[:_PROVING]
    says = statement.causes[window.cause].says if window.chosen and window.cause else ""
    where = f"{name_of(books.log.file)}, {time_span(window.start_s, window.end_s)}"
    parts = [
        title(text_of(says or statement.headline), where),
        *_balance(ledger, rows, window),
        *_entries(statement, ledger, rows, window, last=not found),
    ]
    for proof in found:
        parts += _channel(books, proof, window, last=proof is found[-1])
    return parts


def _balance(ledger: Ledger, rows: BoolArray, window: Window) -> list[Markup]:
    """Scheduled dashed, delivered solid, the gap between them by sign."""
    own = rows & ledger.own & ~ledger.void
    t = ledger.times[own]
    scheduled, delivered = ledger.scheduled[own], ledger.delivered[own]
    frame = _frame(window, span([scheduled, delivered]), _BALANCE)
    more, less = np.fmax(scheduled, delivered), np.fmin(scheduled, delivered)
    drawn = frame.drawn(
        "Scheduled and delivered spark advance",
        *_between(frame, t, scheduled, more, "adds"),
        *_between(frame, t, less, scheduled, "takes"),
        frame.path(t, scheduled, "asked"),
        frame.path(t, delivered, "given"),
        height=str(frame.height),
    )
    apart = np.nan_to_num(delivered - scheduled)
    keys = [Key("scheduled", ("asked",), line=True), Key("delivered", ("given",), line=True)]
    keys += [Key("− below scheduled", ("takes",))] if (apart < -_ENTRY_LEAST).any() else []
    keys += [Key("+ above scheduled", ("adds",))] if (apart > _ENTRY_LEAST).any() else []
    return [caption("Spark advance, degrees", keys), drawn]


def _between(
    frame: Frame, t: FloatArray, low: FloatArray, high: FloatArray, cls: str
) -> Iterator[Markup]:
    """Bands where the two lines stand apart, one for each unbroken stretch."""
    known = np.isfinite(low) & np.isfinite(high)
    apart = known & (np.nan_to_num(high - low) > 0)
    around: BoolArray = apart.copy()
    around[:-1] |= apart[1:]
    around[1:] |= apart[:-1]
    around &= known
    edges = np.flatnonzero(np.diff(around.astype(np.int8), prepend=0, append=0))
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        stretch = slice(int(start), int(end))
        band = frame.band(t[stretch], low[stretch], high[stretch])
        yield Markup(band.replace('class="band"', f'class="band {cls}"'))


def _entries(
    statement: Statement, ledger: Ledger, rows: BoolArray, window: Window, *, last: bool
) -> list[Markup]:
    """What was added stacked above zero, what was taken below it; each entry has a hatching."""
    own = rows & ledger.own & ~ledger.void
    t = ledger.times[own]
    parts = [
        (hatched, entry, np.nan_to_num(entry.values[own]))
        for hatched, entry in zip(cycle(HATCHED), ledger.entries)  # as the page has them
    ]
    acting = [p for p in parts if p[2].size and np.abs(p[2]).max() > _ENTRY_LEAST]
    above, below = np.zeros(t.shape), np.zeros(t.shape)
    bands: list[tuple[FloatArray, FloatArray, str]] = []
    keys = []
    for hatched, entry, values in acting:
        up, down = above + np.fmax(values, 0), below + np.fmin(values, 0)
        bands += [(above, up, f"adds{hatched}"), (down, below, f"takes{hatched}")]
        above, below = up, down
        low, high = float(values.min()), float(values.max())
        takes, adds = low < -_ENTRY_LEAST, high > _ENTRY_LEAST
        marks = [(f"takes{hatched}", takes), (f"adds{hatched}", adds)]
        shown = tuple(mark for mark, acts in marks if acts)
        sign = "±" if takes and adds else "+" if adds else MINUS
        keys.append(Key(f"{sign} {entry_words(entry, statement)}, {_reach(low, high)}", shown))
    frame = _frame(window, span([above, below, np.zeros(1)]), _ENTRIES, last=last)
    drawn = (band for low, high, cls in bands for band in _between(frame, t, low, high, cls))
    name = "Entries, degrees" if keys else "Entries, degrees: nothing was added or taken"
    return [caption(name, keys), frame.drawn("Entries", *drawn, height=str(frame.height))]


def _reach(low: float, high: float) -> str:
    """How far an entry goes: `up to −4.1°`, or `−7.0° to +4.7°` where it goes both ways."""
    if low < -_ENTRY_LEAST and high > _ENTRY_LEAST:
        return degree_span(low, high)
    return f"up to {degrees(low if -low > high else high)}"


def _channel(books: LogAccount, proof: Proof, window: Window, *, last: bool) -> list[Markup]:
    """A channel with the thresholds that it crosses, each named beside its line."""
    channel = proof.channel
    t, values = books.log.times(channel), books.log.values(channel)
    rows = (t >= window.start_s) & (t <= window.end_s) & np.isfinite(values)
    steps = holds(channel, books)
    near = [line for line in proof.lines if rows.any() and _close(line.at, values[rows])]
    switch = steps and rows.any() and set(np.unique(values[rows])) <= {0.0, 1.0}
    up = (-0.15, 1.15) if switch else span([values[rows], np.array([line.at for line in near])])
    frame = _frame(window, up, _CHANNEL, last=last)
    if switch:
        frame = replace(frame, steps=(0.0, 1.0))
    name = name_of(channel.name)
    drawn = frame.drawn(
        name,
        frame.path(t[rows], values[rows], "value", steps=steps),
        *_thresholds(frame, near, channel.unit, window),
        height=str(frame.height),
    )
    text = ", ".join(p for p in (name, unit_words(channel.unit)) if p)
    return [caption(f"{text}, 1 is on" if switch else text), drawn]


def _thresholds(
    frame: Frame, lines: Sequence[Line], unit: str | None, window: Window
) -> Iterator[Markup]:
    """Every threshold as a rule across the strip, and as many names as there is room for."""
    heights = [frame.at(window.end_s, line.at)[1] for line in lines]
    left, right = frame.at(window.start_s, 0.0)[0], frame.at(window.end_s, 0.0)[0]
    for y in heights:
        yield _rule(left, y, right, y, "rule")
    # The ends of a curve say most of it; a threshold with a side stands before all.
    order = sorted(
        range(len(lines)), key=lambda i: (not lines[i].side, i not in (0, len(lines) - 1), i)
    )
    texts = [lines[i].says.replace(NUMBER, quantity(lines[i].at, unit)) for i in order]
    wanted = [(heights[i] + 4, text) for i, text in zip(order, texts, strict=True)]
    for index, y in beside(wanted, 12.0, frame.height - frame.bottom + 4.0):
        yield _rule(right, heights[order[index]], right + 10, y - 4, "lead")
        yield put(texts[index], right + 13, y, "soft small")


def _rule(x1: float, y1: float, x2: float, y2: float, cls: str) -> Markup:
    places = {"x1": x1, "y1": y1, "x2": x2, "y2": y2}
    return tag("line", **{name: f"{at:.1f}" for name, at in places.items()}, cls=cls)


def _close(at: float, values: FloatArray) -> bool:
    """Whether a threshold is near enough to be drawn without flattening the line."""
    low, high = float(values.min()), float(values.max())
    return low - (high - low) <= at <= high + (high - low)


def _frame(window: Window, up: tuple[float, float], height: int, *, last: bool = False) -> Frame:
    """A strip's frame. Only the last one under another says the seconds, that all share."""
    return Frame(
        (window.start_s, window.end_s),
        up,
        "seconds" if last else "",
        "",
        width=WIDTH,
        height=height + (_FOOT if last else 0),
        right=GUTTER,
        bottom=8 + (_FOOT if last else 0),
        foot=last,
    )
