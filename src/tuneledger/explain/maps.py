"""Whether the logged scheduled advance is what a sheet's main map says."""

from dataclasses import dataclass

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import Run, seconds, true_runs
from tuneledger.ledger.tolerance import local_change, slack

# A map that is really another one shows for longer than a sensor takes to settle.
_LEAST_RUN_S = 0.3
_LEAST_SHARE = 0.02


@dataclass(frozen=True, eq=False)
class MapCheck:
    """Scheduled − a sheet's map. `checked`: both are known somewhere; `agrees` is True if not.

    left: NaN where either is unknown; off: degrees of it beyond slack, NaN likewise
    """

    checked: bool
    agrees: bool
    left: FloatArray
    runs: tuple[Run, ...]
    off: FloatArray


def check_map(book: Book, sheet: LaidSheet) -> MapCheck:
    """Compare the logged scheduled advance with the sheet's map, row by row."""
    nowhere = np.full(book.times.shape, np.nan)
    nothing = MapCheck(False, True, nowhere, (), nowhere)
    if book.scheduled is None:
        return nothing
    left = np.where(book.regimes.void, np.nan, book.scheduled - sheet.asked)
    known = np.isfinite(left)
    if known.sum() < 3:
        return nothing
    # The map is read at inputs that were sampled and rounded by themselves: two rows' change.
    bound = (
        book.tolerance
        + slack(book.scheduled, sheet.asked)
        + 0.5 * local_change(sheet.asked, reach=2)
    )
    runs = tuple(run for run in true_runs(np.abs(left) > bound) if _lasts(run, book))
    return MapCheck(
        checked=True,
        agrees=seconds(runs, book.times, book.row_s) <= _LEAST_SHARE * known.sum() * book.row_s,
        left=left,
        runs=runs,
        off=np.clip(np.abs(left) - bound + book.tolerance, 0.0, None),
    )


def _lasts(run: Run, book: Book) -> bool:
    return seconds([run], book.times, book.row_s) >= _LEAST_RUN_S and run[1] - run[0] >= 2
