"""A correction of the sheet that always acts, reads what was not logged, and stood at one number.

The outside air does not change on one drive, warm water hardly does: what a table makes of it is
one number, and the log shows which. That is a better account than a suspicion without one, which
may hide anything, and than other numbers for what the log does compute. It stays a suspicion:
whatever else acted all the time would look the same.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Correction
from tuneledger.explain.account import Account
from tuneledger.explain.cost import residual_cost
from tuneledger.explain.leftover.model import SUSPECTED, Extra
from tuneledger.explain.misnamed import why_lacking
from tuneledger.explain.model import Need, Point
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.wording import degrees, listing, share

# So much of the log must be left over by that one number; elsewhere something else may act.
_STANDS = 0.6
# The number is one of these quantiles of what is left over, that which leaves least.
_TRIED = np.linspace(0.2, 0.8, 25)
# Nats: the sheet lists it, and says between which numbers it lies.
_PRICE = 0.0


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """The one correction that may have stood at the number that is left over; none where several
    may have shared it."""
    sheet = account.sheet
    if sheet is None or not account.runs:
        return ()
    open_ = [c for name in sheet.enabled if (c := _always(sheet, name)) is not None]
    if len(open_) != 1:
        return ()
    level = _level(book, account.left)
    correction = open_[0]
    if level is None or not _can_post(correction, level, book.tolerance):
        return ()
    return (_extra(book, sheet, correction, account.left, level),)


def _always(sheet: LaidSheet, name: str) -> Correction | None:
    """The correction, where it acts all the time by a table of which an input was not logged."""
    correction, part = sheet.correction(name), sheet.parts[name]
    if correction is None or not correction.has_numbers or part.computable.any():
        return None
    plain = correction.effect == "add" and not correction.when and correction.range is None
    return correction if plain and part.missing else None


def _level(book: Book, left: FloatArray) -> float | None:
    """The number at which what is left over stands in most of the log, in degrees."""
    known = left[np.isfinite(left)]
    if not known.size:
        return None
    tried = np.unique(np.quantile(known, _TRIED))
    level = min(tried.tolist(), key=lambda one: residual_cost(book, left - one, book.slack))
    stands = np.abs(left - level) <= book.tolerance + book.slack
    enough = stands[np.isfinite(left)].mean() >= _STANDS
    return level if enough and abs(level) > book.tolerance else None


def _can_post(correction: Correction, level: float, tolerance: float) -> bool:
    grid = correction.grid
    return bool(np.nanmin(grid) - tolerance <= level <= np.nanmax(grid) + tolerance)


def _extra(
    book: Book, sheet: LaidSheet, correction: Correction, left: FloatArray, level: float
) -> Extra:
    missing = sheet.parts[correction.id].missing
    stands = np.abs(left - level) <= book.tolerance + book.slack
    fits = float(stands[np.isfinite(left)].mean())
    reads = {name: f"reads it and {why_lacking(name, book.roles)}" for name in missing}
    said = f"{degrees(level)} all the time leave nothing over in {share(fits)} of the samples"
    return Extra(
        kind="correction",
        rows=np.isfinite(left),
        certainty=SUSPECTED,
        price=_PRICE,
        shown=np.full(left.shape, level),
        correction=correction.id,
        revision=sheet.revision,
        needs=tuple(
            Need(name, f"the correction '{correction.id}' {why}") for name, why in reads.items()
        ),
        points=(
            Point("for", said),
            Point("against", f"it cannot be computed without {listing(reads)}"),
        ),
    )
