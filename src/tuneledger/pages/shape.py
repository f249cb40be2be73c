"""What a page knows, key by key: the one interface between Python and the modules in `web/`.

`web/types.js` says the same for the modules; a test holds the two equal and every key in use.
Words for people are not in here: those stand in the page itself, written by `paper`.
"""

from typing import TypedDict

from tuneledger.pages.pack import Packed


class EntryData(TypedDict):
    """One correction's entries. `title` is what a person calls it, `basis` where it comes from."""

    title: str
    basis: str
    values: Packed


class AccountData(TypedDict):
    """A log's ledger, a value per row; missing where void, not logged or not computable.

    base:     index of its times in `LogData.bases`
    gap_s:    where rows stand further apart than this, lines are left open
    decimals: places with which degrees are shown
    sources:  where scheduled and delivered come from, in words
    rehearsed: delivered as a rehearsed change has it; None where nothing is rehearsed
    own:      1 where delivered has a sample of its own; void: 1 where there is no spark
    regime:   index into `regimes` per row
    cells:    index of the map's cell per row, row by row of the map; missing where none
    """

    base: int
    gap_s: float
    decimals: int
    sources: list[str]
    scheduled: Packed
    delivered: Packed
    rehearsed: Packed | None
    own: Packed
    void: Packed
    regimes: list[str]
    regime: Packed
    entries: list[EntryData]
    cells: Packed | None


class ScaleData(TypedDict):
    """How a number becomes one of its kind's base unit (kPa, °C): factor · number + offset.

    kind: "pressure" or "temperature", the kinds that a reader may turn into another unit
    gauge: it is counted from the outside air
    """

    kind: str
    factor: float
    offset: float
    gauge: bool


class ChannelData(TypedDict):
    """A channel of the log in its own unit. `step`: it holds its value between samples."""

    name: str
    unit: str
    scale: ScaleData | None
    signal: str
    base: int
    gap_s: float
    step: bool
    values: Packed


class LogData(TypedDict):
    """One log. `context` are the channels shown whatever cause is chosen."""

    file: str
    end_s: float
    bases: list[Packed]
    account: AccountData | None
    channels: list[ChannelData]
    context: list[int]


class LineData(TypedDict):
    """A threshold drawn into a strip; `side` is the side on which the condition holds.

    says: its meaning, with `{}` for the number in the strip's unit
    """

    at: float
    side: str
    says: str


class StripData(TypedDict):
    """A channel that proves a cause, with its thresholds."""

    log: int
    channel: int
    lines: list[LineData]


class EpisodeData(TypedDict):
    """A window to shade and to jump to. `sign` is −1, 0 or 1: what delivered is to scheduled."""

    log: int
    start_s: float
    end_s: float
    sign: int


class CauseData(TypedDict):
    """What choosing a cause brings up.

    key:   names the cause again when the same files are read once more
    cells: cells of the map that it concerns
    layer: index into `MapData.layers` of what it changes in the map; −1 for none
    """

    key: str
    title: str
    episodes: list[int]
    strips: list[StripData]
    cells: list[int]
    layer: int


class AxisData(TypedDict):
    """One side of the map."""

    name: str
    unit: str
    scale: ScaleData | None
    at: list[float]


class LayerData(TypedDict):
    """What another map says in each cell less what this one says; missing where not known."""

    title: str
    values: list[list[float | None]]


class MapData(TypedDict):
    """The grid on which visits are counted; `values` are degrees, missing where not known."""

    rows: AxisData
    columns: AxisData
    values: list[list[float | None]]
    layers: list[LayerData]


class NoteData(TypedDict):
    """What a reader says of one cause. `expected`: it is accepted as wanted."""

    cause: str
    title: str
    expected: bool
    says: str


class NotesData(TypedDict):
    """A file of notes: `format`, the files that it is about, and a note for each cause."""

    format: str
    files: list[str]
    notes: list[NoteData]


class PageData(TypedDict):
    """The whole page. `tolerance_deg`: beyond it a difference counts."""

    logs: list[LogData]
    episodes: list[EpisodeData]
    causes: list[CauseData]
    map: MapData | None
    tolerance_deg: float
    notes: NotesData
