"""The logged scheduled advance is not what the first sheet's map says: another map is loaded."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Evidence
from tuneledger.explain import nextstep, says
from tuneledger.explain.account import OTHER_MAP
from tuneledger.explain.cost import settled
from tuneledger.explain.finding import Finding
from tuneledger.explain.included import EITHER
from tuneledger.explain.leftover.othermap import Offsets, changed_cells, fit_offsets, most_sure
from tuneledger.explain.maps import MapCheck, check_map
from tuneledger.explain.model import Cause, Cell, Point
from tuneledger.explain.sheets import LaidSheet, label
from tuneledger.explain.spans import mask_of
from tuneledger.explain.ties import Ties
from tuneledger.explain.told import Told
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import LEAST_ENTRY_DEG, Run, merged, rows_of, seconds, true_runs
from tuneledger.ledger.lag import shifted
from tuneledger.ledger.model import Episode, EpisodeEntry
from tuneledger.ledger.parts import Columns, mean_of, parts
from tuneledger.record import record
from tuneledger.wording import count, share

# A map that merely reads another signal departs everywhere; a changed map departs in few cells.
_KNOWN, _INFERRED = 0.97, 0.93
# The rows in which scheduled departs lie in the revision's own stretches, but for their edges.
_WHERE_IT_RAN = 0.9
# A map that departs in more of the samples is another one altogether.
_MOSTLY = 0.5
# Less than this under load is a moment.
_LEAST_ROWS, _LEAST_S = 3, 0.2


@record(eq=False)
class MapDeparture:
    """One log in which scheduled departs from the first sheet's map.

    sheet:   the supplied one whose map fits instead, None where none does
    offsets: what each cell would have to be changed by; None where the map cannot be read
    runs:    the stretches in which the two maps say different things
    share:   the other map − the first sheet's, degrees per row; None where neither is known
    """

    log: int
    finding: Finding
    check: MapCheck
    sheet: LaidSheet | None
    offsets: Offsets | None
    runs: tuple[Run, ...]
    share: FloatArray | None


def map_departures(findings: Sequence[Finding]) -> list[MapDeparture]:
    """The logs whose scheduled channel contradicts the first sheet's map."""
    out = []
    for number, finding in enumerate(findings):
        if not finding.laid:
            continue
        book, first = finding.book, finding.laid[0]
        check = check_map(book, first)
        if check.agrees:
            continue
        sheet, offsets = _fitting(finding, check), fit_offsets(book, first, check.left)
        differs = offsets.values if offsets is not None else None
        if sheet is not None:
            late = check.late_s / book.row_s if check.late_s else 0.0
            differs = shifted(sheet.asked - first.asked, late)
        runs = _runs(book, check, check.left if differs is None else differs)
        out.append(MapDeparture(number, finding, check, sheet, offsets, runs, differs))
    return out


def _runs(book: Book, check: MapCheck, differs: FloatArray) -> tuple[Run, ...]:
    """From where to where: as far as the maps differ, not only where the log proves it by itself.

    differs: the other map − the first sheet's, degrees per row
    """
    rows = (np.abs(check.left) > book.tolerance) & (np.abs(differs) > book.tolerance)
    whole = merged(true_runs(rows), book.times, book.row_s)
    lasting = [run for run in whole if run[1] - run[0] >= _LEAST_ROWS - 1]
    return tuple(merged([*lasting, *check.runs], book.times, book.row_s))


def _fitting(finding: Finding, check: MapCheck) -> LaidSheet | None:
    """The sheet whose map fits: where it ran, if several did in turn."""
    if finding.stretches:
        departs = rows_of(check.runs, check.left.size)
        for i in sorted({stretch.sheet for stretch in finding.stretches} - {0}):
            ran = mask_of(finding.stretches, i, departs.size)
            off = rows_of(check_map(finding.book, finding.laid[i]).runs, departs.size)
            if ran[departs].mean() >= _WHERE_IT_RAN and not (off & ran & departs).any():
                return finding.laid[i]
    chosen = finding.trial
    if chosen is not None and chosen.sheet.index != 0 and chosen.map_check.agrees:
        return chosen.sheet
    return next((s for s in finding.laid[1:] if check_map(finding.book, s).agrees), None)


def map_cause(departures: Sequence[MapDeparture], tied: Ties) -> Cause | None:
    """One cause for all of them, with the cells that differ."""
    if not departures:
        return None
    worst = max(departures, key=_lasted)
    left = worst.check.left
    rows = rows_of(worst.runs, left.size) & np.isfinite(left)
    values = left[rows]
    lasted = sum(map(_lasted, departures))
    cells, share_settled = _cells(worst)
    laid, sheet = worst.finding.laid, worst.sheet
    certainty = _KNOWN if sheet else min(_INFERRED, most_sure(worst.finding.book)) * share_settled
    if laid[0].inside is not None:
        certainty = min(certainty, EITHER)
    told = Told(
        kind="other map",
        name="the main map in the car",
        degrees=float(values.mean()),
        seconds=lasted,
        peak=float(values[np.abs(values).argmax()]),
        revision=label(sheet, laid) if sheet else None,
        alike=_alike(sheet, laid, tied),
        supplied=label(laid[0], laid),
        above_map=max(map(_above_map, departures)),
    )
    return Cause(
        rank=0,
        kind="other map",
        correction=None,
        revision=sheet.revision if sheet else None,
        channel=worst.finding.book.roles.by_signal["scheduled advance"].channel.name,
        degrees=told.degrees,
        seconds=lasted,
        certainty=round(float(certainty), 2),
        expected=False,
        says=says.other_map(told, len(cells)),
        next_step=nextstep.next_step(told),
        evidence=(
            Point(
                "for",
                f"the logged scheduled advance departs from the sheet's map in "
                f"{count(len(cells), 'cell')}",
            ),
        ),
        cells=cells,
        file=sheet.file if sheet else None,
        alike=told.alike,
    )


def _alike(sheet: LaidSheet | None, laid: Sequence[LaidSheet], tied: Ties) -> tuple[str, ...]:
    """The other sheets whose map fits as well: those that are tied with the one that does."""
    if sheet is None or sheet.file != tied.best:
        return ()
    return tuple(label(laid[i], laid) for i in tied.twins if i)


def _above_map(departure: MapDeparture) -> float:
    """The most that delivered stands above the supplied map under load, where scheduled does too;
    0 where it nowhere does for longer than a moment."""
    book, left = departure.finding.book, departure.check.left
    above = np.nan_to_num(book.delivered - (book.start - left))
    rows = book.judged & book.regimes.load & (left > book.tolerance) & (above > book.tolerance)
    lasting = max(_LEAST_ROWS, round(_LEAST_S / book.row_s)) if book.row_s > 0 else _LEAST_ROWS
    return float(np.quantile(above[rows], 0.95)) if rows.sum() >= lasting else 0.0


def other_car_notes(departures: Sequence[MapDeparture]) -> list[str]:
    """That the first sheet may be of another car."""
    return [
        f"the map of {d.finding.laid[0].file} is not what was asked for in {share(departs)} of the "
        f"samples of {d.finding.book.log.file}: the sheet may be of another car, or its map was "
        "replaced as a whole; make sure that it is the right one, or give that of this car"
        for d in departures
        if (departs := foreign_share(d))
    ]


def foreign_share(departure: MapDeparture) -> float:
    """In which share of the samples the first sheet's map is not what was asked for, where no
    supplied map fits and it is most of them: a revision changes some cells. Else 0."""
    off = departure.check.off
    known = np.isfinite(off)
    if departure.sheet is not None or not known.any():
        return 0.0
    departs = float((off[known] > departure.finding.book.tolerance).mean())
    return departs if departs > _MOSTLY else 0.0


def _lasted(departure: MapDeparture) -> float:
    book = departure.finding.book
    return seconds(departure.runs, book.times, book.row_s)


def map_episodes(departures: Sequence[MapDeparture]) -> list[Episode]:
    """The stretches in which scheduled and the first sheet's map say different things."""
    return [_episode(d, run) for d in departures for run in d.runs]


def _episode(departure: MapDeparture, run: Run) -> Episode:
    book = departure.finding.book
    rows = np.arange(run[0], run[1] + 1)
    left = departure.check.left
    posted = np.zeros(left.shape) if departure.share is None else departure.share
    columns = Columns(book.start, book.delivered, left, left - posted)
    return Episode(
        log=departure.log,
        first=run[0],
        last=run[1],
        start_s=float(book.times[run[0]]),
        end_s=float(book.times[run[1]]),
        about="map",
        regime=book.regimes.most(rows),
        scheduled_deg=float(np.nanmean(book.start[rows])),
        delivered_deg=float(np.nanmean(book.delivered[rows])),
        difference_deg=float(np.nanmean(left[rows])),
        unaccounted_deg=mean_of(columns.unaccounted[rows]),
        expected=False,
        entries=_entries(departure, posted[rows[np.isfinite(left[rows])]]),
        parts=parts(book.regimes, rows, columns, row_s=book.row_s, tolerance=book.tolerance),
    )


def _entries(departure: MapDeparture, posted: FloatArray) -> tuple[EpisodeEntry, ...]:
    """The other map's share: computed from a supplied sheet, or inferred cell by cell."""
    deg, sheet = mean_of(posted), departure.sheet
    if departure.share is None or not abs(deg) >= LEAST_ENTRY_DEG:
        return ()
    evidence = Evidence.INFERRED if sheet is None else Evidence.COMPUTED
    return (EpisodeEntry(OTHER_MAP, deg, evidence, None, sheet.revision if sheet else None),)


def _cells(departure: MapDeparture) -> tuple[tuple[Cell, ...], float]:
    """The cells that differ, and the share of the departure that they settle."""
    book, first = departure.finding.book, departure.finding.laid[0]
    offsets = departure.offsets
    if offsets is None:
        return (), 0.0
    return (
        changed_cells(first, offsets, book.tolerance),
        settled(book, departure.check.left, offsets.values, departure.check.slack),
    )
