"""Corrections that a channel of the log carries: which way round, how late, and if it agrees."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Correction
from tuneledger.evaluate.model import Contribution
from tuneledger.explain.sheets import LaidSheet, carried, solid
from tuneledger.ledger.book import Book
from tuneledger.ledger.lag import realigned
from tuneledger.ledger.tolerance import local_change

# A channel and a sheet that differ in more rows than this tell different stories.
_APART_SHARE = 0.02


def as_logged(book: Book, sheet: LaidSheet, name: str, channel: str) -> Contribution | None:
    """The correction as its channel carries it, where the sheet cannot compute it or agrees.

    None where the two disagree: a channel is what the ECU did, and would make any sheet fit.
    """
    part, values = sheet.parts[name], book.inputs.channel(channel, "deg")
    correction = sheet.correction(name)
    if values is None or correction is None:
        return None
    logged = carried(part, _turned(book, sheet, part, correction, values))
    if not part.computable.any():
        return logged
    both = part.computable & logged.computable & book.judged
    doubt = _doubt(sheet, name) + local_change(np.nan_to_num(logged.values), 2)
    apart = np.abs(logged.values - part.values)[both] > (book.tolerance + book.slack + doubt)[both]
    return logged if both.any() and apart.mean() <= _APART_SHARE else None


def _doubt(sheet: LaidSheet, name: str) -> FloatArray:
    """Degrees that a threshold in doubt leaves open, per row."""
    bounds = sheet.doubt.get(name)
    if bounds is None:
        return np.zeros(sheet.map_values.shape)
    return np.nan_to_num(np.abs(bounds.most_wide.values - bounds.least_wide.values))


def _turned(
    book: Book, sheet: LaidSheet, part: Contribution, correction: Correction, values: FloatArray
) -> FloatArray:
    """The channel with lag taken out and its sign put right: a retard may be logged as positive.

    What the sheet computes decides, then what it allows, then what the other parts leave.
    """
    ways = [
        sign * realigned(values, rows, step=2.0 * book.tolerance)
        for sign in (1.0, -1.0)
        for rows in {0.0, book.lag.rows}
    ]
    if part.computable.any():
        wanted = np.where(part.computable & book.judged, part.values, np.nan)
    else:
        wanted = _left_by_others(book, sheet, part.correction)
        ways = [way for way in ways if _allowed(way, correction)] or ways
    return min(ways, key=lambda way: _misfit(wanted - way))


def _misfit(gap: FloatArray) -> float:
    known = gap[np.isfinite(gap)]
    return float(np.abs(known).mean()) if known.size else float("inf")


def _allowed(values: FloatArray, correction: Correction) -> bool:
    """Whether nearly all numbers lie in the range that the sheet gives."""
    if correction.range is None:
        return True
    low, high = correction.range
    known = values[np.isfinite(values)]
    return bool(((known >= low - 0.5) & (known <= high + 0.5)).mean() >= 0.98)


def _left_by_others(book: Book, sheet: LaidSheet, name: str) -> FloatArray:
    """The difference less what the sheet's other added corrections post."""
    left = np.where(book.judged, book.delivered - book.start, np.nan)
    for other in _others(sheet, name):
        left = left - np.where(solid(other).active, solid(other).values, 0.0)
    return left


def _others(sheet: LaidSheet, name: str) -> Sequence[Contribution]:
    parts = [sheet.parts[one] for one in sheet.enabled if one != name]
    return [part for part in parts if part.effect == "add" and part.computable.any()]
