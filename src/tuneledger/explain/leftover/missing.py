"""Corrections of the sheet that cannot be computed here, but could explain what is left over."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Correction
from tuneledger.explain.account import Account
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Need, Point
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import Run
from tuneledger.wording import degree_span, listing

# A suspicion stays below what counts as an explanation.
_SUSPECTED = 0.7


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """Corrections whose table or amount says what they would post, and whose input is missing."""
    return _suspects(book, account, lambda correction: correction.has_numbers)


def find_possible(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """Corrections that the ECU works out itself and no channel carries: they prove little."""
    return _suspects(book, account, lambda correction: not correction.has_numbers)


def _suspects(
    book: Book, account: Account, wanted: Callable[[Correction], bool]
) -> tuple[Extra, ...]:
    """One suspicion per correction that is not computable and fits at least one stretch."""
    sheet = account.sheet
    if sheet is None:
        return ()
    found = []
    for name in sheet.enabled:
        correction, part = sheet.correction(name), sheet.parts[name]
        if correction is None or part.computable.all() or not wanted(correction):
            continue
        span = _span(correction)
        rows = np.zeros(account.left.shape, dtype=np.bool_)
        for run in account.runs:
            if span is not None and _could(account.left, run, ~part.computable, span, book):
                rows[run[0] : run[1] + 1] = True
        if rows.any() and span is not None:
            found.append(_extra(book, sheet, correction, part.missing, rows, span))
    return tuple(_shared(found))


def _span(correction: Correction) -> tuple[float, float] | None:
    """Lowest and highest degrees that an added correction can post when it acts."""
    if correction.effect != "add":
        return None
    if correction.range is not None:
        return correction.range[0], correction.range[1]
    if not correction.has_numbers:
        return (-30.0, 0.0) if correction.reason == "knock" else None
    grid = correction.grid
    return (float(np.nanmin(grid)), float(np.nanmax(grid))) if np.isfinite(grid).any() else None


def _could(
    left: FloatArray, run: Run, unknown: BoolArray, span: tuple[float, float], book: Book
) -> bool:
    """The stretch lies where the correction is unknown, and within what it can post."""
    rows = slice(run[0], run[1] + 1)
    values = left[rows]
    known = np.isfinite(values)
    if not known.any() or unknown[rows][known].mean() < 0.9:
        return False
    bound = book.tolerance + book.slack[rows][known]
    low, high = span
    inside = (values[known] >= min(low, 0.0) - bound) & (values[known] <= max(high, 0.0) + bound)
    middle = float(np.median(values[known]))
    room = max(2 * book.tolerance, 0.25 * abs(middle))
    reaches = low - room <= middle <= high + room
    return bool(inside.mean() >= 0.9 and reaches)


def _extra(
    book: Book,
    sheet: LaidSheet,
    correction: Correction,
    missing: tuple[str, ...],
    rows: BoolArray,
    span: tuple[float, float],
) -> Extra:
    if missing:
        what = missing
        reads = "reads it and the log does not carry it"
    else:
        what = (correction.logged_as or f"the contribution of '{correction.id}'",)
        reads = "is worked out by the ECU itself and no channel of the log carries it"
    return Extra(
        kind="correction",
        rows=rows,
        certainty=_SUSPECTED,
        correction=correction.id,
        revision=sheet.revision,
        needs=tuple(Need(name, f"the correction '{correction.id}' {reads}") for name in what),
        points=(
            Point("for", f"it can post {degree_span(*span)}, and that is what is missing here"),
            Point("against", f"it cannot be computed without {listing(what)}"),
        ),
    )


def _shared(found: list[Extra]) -> list[Extra]:
    """Several suspects for the same rows: each is less likely than one alone."""
    out = []
    for extra in found:
        rivals = sum(bool((other.rows & extra.rows).any()) for other in found)
        out.append(replace(extra, certainty=_SUSPECTED / rivals))
    return out
