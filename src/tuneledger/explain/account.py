"""One way in which the delivered advance may have come about, carried out and balanced."""

from collections.abc import Mapping, Sequence
from dataclasses import field, replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Limits
from tuneledger.evaluate.model import Contribution, Evidence
from tuneledger.evaluate.replay import combine
from tuneledger.explain.little import next_to_nothing
from tuneledger.explain.otherwise import Otherwise
from tuneledger.explain.settle import Settled, settle
from tuneledger.explain.sheets import LaidSheet, solid
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import Run, unaccounted_runs
from tuneledger.ledger.model import Entry, Ledger
from tuneledger.record import record

OTHER_MAP = "other-map"
LIMIT = "limit"


@record(eq=False)
class Aside:
    """What is left over in rows that a suspicion speaks for, and what that may post there: any
    number between `low` and `high`. NaN in all other rows."""

    left: FloatArray
    low: FloatArray
    high: FloatArray

    @property
    def beyond(self) -> FloatArray:
        """Degrees per row that the suspicion cannot have posted."""
        return np.asarray(self.left - np.clip(self.left, self.low, self.high), np.float64)


@record(eq=False)
class Account:
    """Parts carried out over a book.

    sheet:     the sheet whose map and limits were used, None for a log without one
    ledger:    the entries; empty (NaN) where not computable
    left:      delivered − what the parts give, with what is not computable taken as nothing;
               NaN where a row cannot be judged
    runs:      stretches of `left` beyond what lag, slope and the entries' own edges explain
    off:       degrees of `left` beyond that slack per row; NaN where a row cannot be judged, and
               where the sheet leaves open ("?") what it posts
    balances:  next to nothing is left
    judging:   the ledger with what is not computable taken as nothing, for judging only
    settled:   corrections with a threshold in doubt, and how delivered settled it
    aside:     what stays open in the rows that suspicions speak for, where `left` is NaN
    """

    sheet: LaidSheet | None
    parts: tuple[Contribution, ...]
    ledger: Ledger
    left: FloatArray
    runs: tuple[Run, ...]
    off: FloatArray
    balances: bool
    judging: Ledger
    channels: Mapping[str, str] = field(default_factory=dict)
    settled: Mapping[str, Settled] = field(default_factory=dict)
    aside: Aside | None = None


def carry_out(
    book: Book,
    sheet: LaidSheet | None,
    parts: Sequence[Contribution],
    *,
    first: LaidSheet | None = None,
    channels: Mapping[str, str] | None = None,
    expected: Mapping[str, str] | None = None,
    others: Sequence[LaidSheet] = (),
) -> Account:
    """Carry out the parts over the book and see what is left.

    first:    the sheet that is said to run; its map is what the account starts from where
              scheduled is not logged, and another sheet's map then posts `other-map`
    channels: correction id → the channel that carries it
    expected: correction id → why the owner wants it
    others:   further sheets that parts may come from
    """
    limits: Limits | None = sheet.calibration.spark.limits if sheet else None
    start, shift = _start(book, sheet, first)
    included = (
        sheet.calibration.spark.scheduled_includes if sheet and book.scheduled is not None else ()
    )
    acting = [part for part in parts if part.correction not in included]
    acting, settled = settle(book, start, acting, limits, _in_doubt(acting, (sheet, *others)))
    replay = combine(start, [solid(part) for part in acting], limits)
    entries = _as_logged(replay.entries, book)
    gives = replay.delivered if entries is replay.entries else start + sum(entries.values())
    left = np.where(book.judged, book.delivered - gives, np.nan)
    by_id = {part.correction: part for part in acting}
    posted = dict(entries)
    if shift is not None:
        posted = {OTHER_MAP: shift, **posted}
    judging = tuple(
        _entry(name, values, by_id.get(name), sheet, channels, expected)
        for name, values in posted.items()
    )
    leeway = _leeway(sheet, acting, book)
    ledger = _ledger(book, judging, leeway)
    shown = tuple(_emptied(entry, by_id.get(entry.correction)) for entry in judging)
    known = all(one is other for one, other in zip(shown, judging, strict=True))
    told = ledger if known else _ledger(book, shown, leeway)
    out = balanced(sheet, parts, told, ledger, left, channels or {})
    out = replace(out, off=np.where(_left_open(acting, left.size), np.nan, out.off))
    return replace(out, settled=settled)


def _as_logged(entries: Mapping[str, FloatArray], book: Book) -> Mapping[str, FloatArray]:
    """The entries; where delivered is logged smoothed, smoothed as it is, as the start is too."""
    if book.smoothing is None:
        return entries
    smoothed = book.smoothing
    return {name: smoothed.of(values, book.row_s) for name, values in entries.items()}


def balanced(
    sheet: LaidSheet | None,
    parts: Sequence[Contribution],
    ledger: Ledger,
    judging: Ledger,
    left: FloatArray,
    channels: Mapping[str, str],
) -> Account:
    """The account of a ledger that is carried out: what is left over, and whether it balances."""
    runs = tuple(_runs_left(judging, left))
    return Account(
        sheet=sheet,
        parts=tuple(parts),
        ledger=ledger,
        judging=judging,
        left=left,
        runs=runs,
        off=_off(judging, left),
        balances=_balances(runs, judging, left),
        channels=dict(channels),
    )


def _in_doubt(
    parts: Sequence[Contribution], sheets: Sequence[LaidSheet | None]
) -> list[tuple[int, Otherwise]]:
    """The parts that a sheet computes and is not everywhere sure of."""
    return [
        (index, sheet.doubt[part.correction])
        for index, part in enumerate(parts)
        for sheet in sheets
        if sheet is not None
        and sheet.parts.get(part.correction) is part
        and part.correction in sheet.doubt
    ]


def _leeway(
    sheet: LaidSheet | None, acting: Sequence[Contribution], book: Book
) -> tuple[FloatArray, FloatArray]:
    """What may be left over, downwards and upwards, because the log rounds what tables read."""
    either: FloatArray = np.zeros(book.times.shape)
    if sheet is None:
        return either, either
    if book.scheduled is None and (of_map := sheet.resolution.of("")) is not None:
        either = either + of_map
    for part in acting:
        if (own := sheet.resolution.of(part.correction)) is not None:
            either = either + np.where(part.active, own, 0.0)
    return either, either


def _start(
    book: Book, sheet: LaidSheet | None, first: LaidSheet | None
) -> tuple[FloatArray, FloatArray | None]:
    """Where the parts start from, and what another map adds to the book's own start."""
    if book.scheduled is not None or sheet is None:
        return book.start, None
    if first is None or sheet.index == first.index:
        return sheet.map_values, None
    shift = sheet.map_values - book.start
    return sheet.map_values, shift if np.nanmax(np.abs(shift), initial=0.0) > 1e-9 else None


def _entry(
    name: str,
    values: FloatArray,
    part: Contribution | None,
    sheet: LaidSheet | None,
    channels: Mapping[str, str] | None,
    expected: Mapping[str, str] | None,
) -> Entry:
    channel = (channels or {}).get(name)
    computed = part.evidence if part else Evidence.COMPUTED
    return Entry(
        correction=name,
        values=values,
        evidence=Evidence.LOGGED if channel else computed,
        channel=channel,
        revision=part.source.revision if part else (sheet.revision if sheet else None),
        expected=(expected or {}).get(name),
        file=part.source.file if part else (sheet.file if sheet else None),
    )


def _emptied(entry: Entry, part: Contribution | None) -> Entry:
    """The entry with NaN where it is not computable: a ledger never passes unknown off as zero."""
    if part is None or part.computable.all():
        return entry
    return replace(entry, values=np.where(part.computable, entry.values, np.nan))


def _ledger(
    book: Book, entries: tuple[Entry, ...], leeway: tuple[FloatArray, FloatArray]
) -> Ledger:
    return Ledger(
        quantity="spark advance",
        unit="deg",
        combine="sum",
        times=book.times,
        scheduled=book.start,
        delivered=np.where(book.regimes.void, np.nan, book.delivered),
        entries=entries,
        own=book.own,
        void=book.regimes.void,
        slack=book.slack,
        leeway=leeway,
        tolerance=book.tolerance,
        regime=book.regime_names,
    )


def _runs_left(ledger: Ledger, left: FloatArray) -> list[Run]:
    return unaccounted_runs(ledger) if np.isfinite(left).any() else []


def _off(ledger: Ledger, left: FloatArray) -> FloatArray:
    """What is left beyond the slack; rounding within the tolerance counts, edges do not."""
    edges = ledger.slack + ledger.edge_slack
    beyond = np.clip(np.abs(np.nan_to_num(ledger.beyond_leeway)) - edges, 0.0, None)
    return np.where(np.isfinite(left), beyond, np.nan)


def _left_open(parts: Sequence[Contribution], rows: int) -> BoolArray:
    """Rows in which a part acts for certain and nobody knows by how much."""
    out = np.zeros(rows, dtype=np.bool_)
    for part in parts:
        tabled = part.evidence is Evidence.COMPUTED and not part.missing
        if tabled and part.known is not None:
            out |= part.known & ~part.computable
    return out


def _balances(runs: Sequence[Run], ledger: Ledger, left: FloatArray) -> bool:
    return bool(np.isfinite(left).any()) and next_to_nothing(runs, ledger, left)
