"""Whether the logged scheduled advance is what a sheet's main map says."""

from dataclasses import replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.cost import residual_cost, settled
from tuneledger.explain.leftover.othermap import fit_offsets
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import Run, merged, seconds, true_runs
from tuneledger.ledger.lag import estimate_lag, shifted
from tuneledger.ledger.tolerance import local_change, slack
from tuneledger.record import record

# A departure this long and this frequent is no sensor that takes its time to settle.
_LEAST_RUN_S = 0.3
_LEAST_SHARE = 0.02
# Nats of departure that are worth asking about, and the share of them that changed cells have to
# settle where the departure is brief: what comes from late or slow sensors goes both ways in the
# same cells, and cells settle little of it.
_LEAST_NATS = 10.0
_SETTLED = 0.8  # of what is left over: judgement
# How late what the map reads may be logged, or how late scheduled is.
_LATEST_S = 0.2
_LEAST_ROWS = 3


@record(eq=False)
class MapCheck:
    """Scheduled − a sheet's map. `checked`: both are known somewhere; `agrees` is True if not.

    left: NaN where either is unknown; off: degrees of it beyond slack, NaN likewise
    slack: degrees per row by which they may differ besides the tolerance
    late_s: seconds by which what the map reads is logged after scheduled; taken out of `left`
    """

    checked: bool
    agrees: bool
    left: FloatArray
    runs: tuple[Run, ...]
    off: FloatArray
    slack: FloatArray
    late_s: float = 0.0


def check_map(book: Book, sheet: LaidSheet) -> MapCheck:
    """Compare the logged scheduled advance with the sheet's map, row by row."""
    nowhere = np.full(book.times.shape, np.nan)
    nothing = MapCheck(False, True, nowhere, (), nowhere, np.zeros(nowhere.shape))
    if book.scheduled is None:
        return nothing
    plain = _compared(book, sheet.asked)
    if np.isfinite(plain.left).sum() < _LEAST_ROWS:
        return nothing
    if plain.agrees:
        return plain
    unseen = sheet.resolution.unseen
    if unseen is not None:
        plain = _compared(book, sheet.asked, unseen)
        if plain.agrees:
            return plain
    aligned = _without_lag(book, sheet.asked, plain, unseen)
    return (
        aligned if aligned.agrees else replace(aligned, agrees=not _departs(book, sheet, aligned))
    )


def _compared(book: Book, asked: FloatArray, unseen: FloatArray | None = None) -> MapCheck:
    """unseen: degrees that may have come and gone between two samples of what the map reads."""
    scheduled = book.start if book.asked is None else book.asked
    left = np.where(book.regimes.void, np.nan, scheduled - asked)
    # The map is read at inputs that were sampled and rounded by themselves: two rows' change.
    spare = slack(scheduled, asked, start_own=book.start_own) + 0.5 * local_change(asked, reach=2)
    spare = spare if unseen is None else spare + unseen
    off = np.clip(np.abs(left) - spare, 0.0, None)
    rows = np.nan_to_num(off) > book.tolerance
    found = MapCheck(True, True, left, (), off, spare)
    if not rows.any():
        return found
    runs = [run for run in true_runs(rows) if run[1] - run[0] >= _LEAST_ROWS - 1]
    runs = merged(runs, book.times, book.row_s)
    return replace(found, runs=tuple(runs), agrees=_nats(book, found) < _LEAST_NATS or not runs)


def _nats(book: Book, check: MapCheck) -> float:
    """What the departure costs, without the rows that tolerance and slack excuse."""
    beyond = np.nan_to_num(check.off) > book.tolerance
    return residual_cost(book, np.where(beyond, check.left, np.nan), check.slack)


def _without_lag(
    book: Book, asked: FloatArray, plain: MapCheck, unseen: FloatArray | None
) -> MapCheck:
    """The comparison with what the map reads moved to when scheduled was logged, if that tells."""
    latest = _LATEST_S / book.row_s if book.row_s > 0 else 0.0
    scheduled = book.start if book.asked is None else book.asked
    lag = estimate_lag(scheduled, asked, step=book.tolerance, latest=latest)
    late = lag.rows
    if not lag.sure:
        late = -estimate_lag(asked, scheduled, step=book.tolerance, latest=latest).rows
    if late == 0.0:
        return plain
    moved = _compared(book, shifted(asked, late), unseen)
    if _nats(book, plain) - _nats(book, moved) < _LEAST_NATS:
        return plain
    return replace(moved, late_s=late * book.row_s)


def _departs(book: Book, sheet: LaidSheet, check: MapCheck) -> bool:
    """Whether it is another map: for long, or so that changed cells say all of it."""
    lasting = [run for run in check.runs if seconds([run], book.times, book.row_s) >= _LEAST_RUN_S]
    known_s = float(np.isfinite(check.left).sum()) * book.row_s
    if seconds(lasting, book.times, book.row_s) > _LEAST_SHARE * known_s:
        return True
    offsets = fit_offsets(book, sheet, check.left)
    if offsets is None:
        return False
    return settled(book, check.left, offsets.values, check.slack) >= _SETTLED
