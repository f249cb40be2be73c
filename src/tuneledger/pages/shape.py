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
    own: Packed
    void: Packed
    regimes: list[str]
    regime: Packed
    entries: list[EntryData]
    cells: Packed | None


class ChannelData(TypedDict):
    """A channel of the log in its own unit. `step`: it holds its value between samples."""

    name: str
    unit: str
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
    """A threshold drawn into a strip; `side` is the side on which the condition holds."""

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
    """What choosing a cause brings up. `cells` are cells of the map that it concerns."""

    title: str
    episodes: list[int]
    strips: list[StripData]
    cells: list[int]


class AxisData(TypedDict):
    """One side of the map."""

    name: str
    unit: str
    at: list[float]


class MapData(TypedDict):
    """The grid on which visits are counted; `values` are degrees, missing where not known."""

    rows: AxisData
    columns: AxisData
    values: list[list[float | None]]


class PageData(TypedDict):
    """The whole page. `tolerance_deg`: beyond it a difference counts."""

    logs: list[LogData]
    episodes: list[EpisodeData]
    causes: list[CauseData]
    map: MapData | None
    tolerance_deg: float
