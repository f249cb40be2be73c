"""A logged scheduled advance that already contains corrections, and a sheet that does not say so.

Many an ECU logs as scheduled what stands after some of its corrections. Held against the map, that
looks like another map; held against delivered, like corrections that stayed silent: two false
findings that cancel. Where scheduled − map is, row by row, what one or a few corrections of the
sheet work out to, and delivered lacks just these beside scheduled, the channel contains them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.cost import PER_CHANGE, residual_cost
from tuneledger.explain.leftover.othermap import PER_CELL, fit_offsets, price
from tuneledger.explain.maps import MapCheck, check_map
from tuneledger.explain.opened import OpenedBook
from tuneledger.explain.sheets import Inside, LaidSheet, containing
from tuneledger.ledger.book import Book
from tuneledger.wording import listing

_MOST = 3  # more at once is a guess, judgement
_KNOWN_SHARE = 0.95  # of the rows: all but the edges
# Nats by which the corrections have to say it better than changed cells of the map could, beside
# which they would have to be silent. A trim that acts all the time, moved into the map as a whole,
# stays short of it.
_CLEARLY = 15.0
# How sure another map, or a correction's silence, is where scheduled may contain it instead.
EITHER = 0.5


def with_what_scheduled_contains(opened: Sequence[OpenedBook]) -> list[OpenedBook]:
    """The books with what their scheduled channels turned out to contain said in every sheet.

    What a channel contains is the ECU's doing and the same for every revision. Where another map
    would look the same, the sheets stay as they are and only carry the doubt.
    """
    logged = [one for one in opened if one.book.scheduled is not None and one.laid]
    sheets = range(len(logged[0].laid) if logged else 0)
    if any(_as_asked(logged, i) for i in sheets):
        return list(opened)
    for i in sheets:
        inside = _inside(logged, i)
        if inside is not None:
            return [replace(one, laid=tuple(_told(one, inside))) for one in opened]
    return list(opened)


def _as_asked(logged: Sequence[OpenedBook], index: int) -> bool:
    """Whether a sheet's map is what was asked for, in every log."""
    checks = (check_map(one.book, one.laid[index]) for one in logged)
    return all(check.checked and check.agrees for check in checks)


def _told(one: OpenedBook, inside: Inside) -> Iterator[LaidSheet]:
    for sheet in one.laid:
        contains = containing(sheet, inside.corrections) if inside.sure else sheet
        yield replace(contains, inside=inside)


def told(inside: Inside, book: Book) -> str:
    """The note: what the channel contains, and what to add to the sheet."""
    assert book.scheduled is not None
    channel = book.roles.by_signal["scheduled advance"].channel.name
    names = listing(f"'{name}'" for name in inside.corrections)
    ids = ", ".join(f'"{name}"' for name in inside.corrections)
    if inside.sure:
        return (
            f"{channel} already contains {names}, which the sheet does not say; it was taken so: "
            f"add scheduled_includes = [{ids}] under [spark]"
        )
    return (
        f"{channel} may already contain {names}, or another map is loaded: this log cannot tell; "
        f"if it does, add scheduled_includes = [{ids}] under [spark]"
    )


def _inside(logged: Sequence[OpenedBook], index: int) -> Inside | None:
    """What scheduled contains by one sheet; None where the sheet's map is what was asked for, or
    where its corrections do not say what is beside it."""
    checks = [check_map(one.book, one.laid[index]) for one in logged]
    chosen: tuple[str, ...] = ()
    while not all(check.agrees for check in checks) and len(chosen) < _MOST:
        best = _next(logged, index, checks, chosen)
        if best is None:
            return None
        chosen = (*chosen, best)
        checks = [check_map(o.book, containing(o.laid[index], chosen)) for o in logged]
    if not chosen or not all(check.agrees for check in checks):
        return None
    if not all(_lacks(one, index, chosen) for one in logged):
        return None
    gains = (_beyond_cells(one, index, chosen) for one in logged)
    return Inside(chosen, sure=sum(gains) > _CLEARLY)


def _next(
    logged: Sequence[OpenedBook],
    index: int,
    checks: Sequence[MapCheck],
    chosen: Sequence[str],
) -> str | None:
    """The correction that says most of what scheduled is beside the map, if it pays for itself."""
    pairs = list(zip(logged, checks, strict=True))
    now = sum(_left(o.book, check) for o, check in pairs)
    costs = {
        name: sum(_left(o.book, check, o.laid[index].parts[name].values) for o, check in pairs)
        for name in _candidates(logged, index)
        if name not in chosen
    }
    best = min(costs, key=lambda name: costs[name], default=None)
    return best if best is not None and costs[best] < now - PER_CHANGE else None


def _candidates(logged: Sequence[OpenedBook], index: int) -> list[str]:
    """Enabled additive corrections that can be computed, and that do something in these logs."""
    sheet = logged[0].laid[index]
    included = sheet.calibration.spark.scheduled_includes
    return [
        name
        for name in sheet.enabled
        if name not in included
        and all(o.laid[index].parts[name].effect == "add" for o in logged)
        and all(_known(o, index, name) >= _KNOWN_SHARE for o in logged)
        and any(_acts(o, index, name).any() for o in logged)
    ]


def _known(one: OpenedBook, index: int, name: str) -> float:
    """The share of the rows in which a correction can be computed."""
    known = one.laid[index].parts[name].computable[one.book.judged]
    return float(known.mean()) if known.size else 0.0


def _acts(one: OpenedBook, index: int, name: str) -> BoolArray:
    size = np.abs(np.nan_to_num(one.laid[index].parts[name].values))
    return np.asarray(one.book.judged & (size > one.book.tolerance))


def _left(book: Book, check: MapCheck, less: FloatArray | None = None) -> float:
    """Nats of what scheduled is beside a map, less what something would post."""
    left = check.left if less is None else check.left - np.nan_to_num(less)
    return residual_cost(book, left, check.slack)


def _lacks(one: OpenedBook, index: int, chosen: Sequence[str]) -> bool:
    """Whether delivered − scheduled is closer to nothing than to what they would post once more."""
    book = one.book
    apart = np.where(book.judged, book.delivered - book.start, np.nan)
    posted = np.sum([np.nan_to_num(one.laid[index].parts[name].values) for name in chosen], axis=0)
    here = np.abs(posted) > book.tolerance
    apart = np.where(here, apart, np.nan)
    without, twice = (residual_cost(book, x, book.slack) for x in (apart, apart - posted))
    return bool(without < twice - PER_CHANGE) or not here.any()


def _beyond_cells(one: OpenedBook, index: int, chosen: Sequence[str]) -> float:
    """Nats by which the corrections say scheduled − map, and their silence beside delivered, more
    briefly than changed cells and a sheet that is otherwise off would."""
    book, sheet = one.book, one.laid[index]
    check = check_map(book, sheet)
    offsets = fit_offsets(book, sheet, check.left)
    if offsets is None:
        return 0.0
    cells = _left(book, check, offsets.values) + price(offsets, book.tolerance)
    whole = np.full(check.left.shape, np.nanmedian(check.left))
    moved = _left(book, check, whole) + PER_CELL
    contained = _left(book, check_map(book, containing(sheet, chosen)))
    return min(cells, moved) + PER_CHANGE * len(chosen) - contained
