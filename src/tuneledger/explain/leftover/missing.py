"""Corrections of the sheet that cannot be computed here, but could explain what is left over."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Correction
from tuneledger.explain.account import Account
from tuneledger.explain.lapses import Lapse, lapse_of
from tuneledger.explain.leftover.model import SUSPECTED, Extra
from tuneledger.explain.misnamed import why_lacking
from tuneledger.explain.model import Need, Point
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import Run, lasting, rows_of, true_runs
from tuneledger.roles.model import Roles
from tuneledger.wording import degree_span, listing

_UNKNOWN_SHARE = 0.9
# A suspect that may have acted in this share of another's rows may have done it in its place.
_AS_WELL = 0.8
# Edges of a stretch, and of what else acts in it, may lie beyond what a correction can post.
_BEYOND_SHARE = 0.1
# How long parts of a stretch have to last together to be worth a suspicion of their own.
_LEAST_PIECE_S = 0.3
# Across a gap in an input: so many rows must come out for the correction to be sure, and how sure
# it is then. Nobody saw what happened in between: a judgement, no source.
_BRIDGED, _SURE_ACROSS = 0.9, 0.9


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
        silent = ~part.computable
        lapse = None
        if correction.has_numbers and not part.missing:
            lapse = lapse_of(book, sheet, correction)
            if lapse is None:
                continue  # a cell that nobody knows, or before the log: nothing to ask for
            silent = silent & lapse.rows
        span = _span(correction, book)
        if span is None or not silent.any():
            continue
        beyond = _beyond(account.left, span, book)
        pieces = [
            p
            for run in account.runs
            for piece in _pieces(book, account.left, run, silent)
            for p in _within(piece, beyond, book)
        ]
        fitting = [run for run in pieces if _could(account.left, run, silent, span, beyond, book)]
        rows = rows_of(fitting, account.left.size) & ~beyond
        if rows.any():
            ends = (float(np.nanmin(span[0][rows])), float(np.nanmax(span[1][rows])))
            extra = _extra(sheet, correction, part.missing, rows, ends, book.roles)
            extra = replace(extra, reach=(np.minimum(span[0], 0.0), np.maximum(span[1], 0.0)))
            found.append(extra if lapse is None else _lapsed(extra, lapse, account.left, book))
    return tuple(_shared(found))


def _pieces(book: Book, left: FloatArray, run: Run, silent: BoolArray) -> list[Run]:
    """The run; or the parts of it in which the correction is not known, if they differ from the
    rest: then something else goes before or after them."""
    within = np.arange(run[0], run[1] + 1)
    unknown, known = silent[within], ~silent[within] & np.isfinite(left[within])
    if not known.any() or unknown.mean() >= _UNKNOWN_SHARE:
        return [run]
    rest = float(np.median(left[within][known]))
    apart = [
        (run[0] + first, run[0] + last)
        for first, last in true_runs(unknown)
        if abs(_middle(left[run[0] + first : run[0] + last + 1]) - rest) > 2.0 * book.tolerance
    ]
    # An engine that hunts about a threshold makes many short parts, which say one thing together.
    lasts = sum(last + 1 - first for first, last in apart) * book.row_s
    return apart if lasts >= _LEAST_PIECE_S else []


def _middle(left: FloatArray) -> float:
    known = left[np.isfinite(left)]
    return float(np.median(known)) if known.size else np.nan


def _span(correction: Correction, book: Book) -> tuple[FloatArray, FloatArray] | None:
    """Lowest and highest degrees that a correction can post when it acts, per row."""
    if correction.range is not None:
        low, high = correction.range
    elif correction.has_numbers and np.isfinite(correction.grid).any():
        low, high = float(np.nanmin(correction.grid)), float(np.nanmax(correction.grid))
    elif correction.reason == "knock":
        low, high = -30.0, 0.0
    else:
        return None
    floor, ceiling = np.full(book.times.shape, low), np.full(book.times.shape, high)
    if correction.effect in ("replace", "base"):
        return floor - book.start, ceiling - book.start
    if correction.effect == "at most":
        return np.minimum(floor - book.start, 0.0), np.minimum(ceiling - book.start, 0.0)
    if correction.effect == "at least":
        return np.maximum(floor - book.start, 0.0), np.maximum(ceiling - book.start, 0.0)
    return floor, ceiling


def _beyond(left: FloatArray, span: tuple[FloatArray, FloatArray], book: Book) -> BoolArray:
    """Rows in which more is left over than a correction can post, or the other way."""
    low, high = np.minimum(span[0], 0.0), np.maximum(span[1], 0.0)
    bound = book.tolerance + book.slack
    return np.isfinite(left) & ((left < low - bound) | (left > high + bound))


def _within(run: Run, beyond: BoolArray, book: Book) -> list[Run]:
    """A run without what a correction cannot have done, where that lasts longer than an edge."""
    cut = np.ones(run[1] + 1 - run[0], dtype=np.bool_)
    for first, last in lasting(true_runs(beyond[run[0] : run[1] + 1]), book.row_s):
        cut[first : last + 1] = False
    return [(run[0] + first, run[0] + last) for first, last in true_runs(cut)]


def _could(
    left: FloatArray,
    run: Run,
    unknown: BoolArray,
    span: tuple[FloatArray, FloatArray],
    beyond: BoolArray,
    book: Book,
) -> bool:
    """The stretch lies where the correction is unknown, and within what it can post."""
    rows = np.arange(run[0], run[1] + 1)
    rows = rows[np.isfinite(left[rows])]
    if rows.size == 0 or unknown[rows].mean() < _UNKNOWN_SHARE:
        return False
    values, low, high = left[rows], span[0][rows], span[1][rows]
    room = np.maximum(2 * book.tolerance, 0.25 * np.abs(values))
    reaches = (values >= low - room) & (values <= high + room)
    return bool(beyond[rows].mean() <= _BEYOND_SHARE and reaches.mean() >= 0.5)


def _extra(
    sheet: LaidSheet,
    correction: Correction,
    missing: tuple[str, ...],
    rows: BoolArray,
    span: tuple[float, float],
    roles: Roles,
) -> Extra:
    if missing:
        reads = {name: f"reads it and {why_lacking(name, roles)}" for name in missing}
    else:
        own = "is worked out by the ECU itself and no channel of the log carries it"
        reads = {correction.logged_as or f"the contribution of '{correction.id}'": own}
    return Extra(
        kind="correction",
        rows=rows,
        certainty=SUSPECTED,
        correction=correction.id,
        revision=sheet.revision,
        needs=tuple(
            Need(name, f"the correction '{correction.id}' {why}") for name, why in reads.items()
        ),
        points=(
            Point(
                "for",
                f"it can do {degree_span(*span)}, and that is what is missing here",
            ),
            Point("against", f"it cannot be computed without {listing(reads)}"),
        ),
    )


def _lapsed(extra: Extra, lapse: Lapse, left: FloatArray, book: Book) -> Extra:
    """The suspicion of a correction that reads what is silent for a while. Where the account comes
    out with what was said before and after, hardly anything else could have done the same."""
    why, rows = lapse.told(book), extra.rows & np.isfinite(left)
    room = 2.0 * book.tolerance + book.slack
    fits = np.abs(left[rows] - lapse.part.values[rows]) <= room[rows]
    if lapse.closed(rows) and bool(fits.size) and fits.mean() >= _BRIDGED:
        said = f"{why}; what was said before and after gives just what is missing here"
        return replace(
            extra, certainty=_SURE_ACROSS, lacking=why, needs=(), points=(Point("for", said),)
        )
    needs = tuple(
        Need(name, f"the correction '{extra.correction}' reads it, and {why}")
        for name in lapse.names
    )
    points = (extra.points[0], Point("against", f"it cannot be computed: {why}"))
    return replace(extra, lacking=why, needs=needs, points=points)


def _shared(found: list[Extra]) -> list[Extra]:
    """Several suspects for the same rows: each is less likely than one alone, and names those that
    may have done as much."""
    out = []
    for extra in found:
        sharing = [one for one in found if (one.rows & extra.rows).any()]
        rivals = tuple(
            one.correction
            for one in sharing
            if one is not extra and one.correction and one.rows[extra.rows].mean() >= _AS_WELL
        )
        shared = round(extra.certainty / len(sharing), 2)
        out.append(replace(extra, certainty=shared, rivals=rivals))
    return out
