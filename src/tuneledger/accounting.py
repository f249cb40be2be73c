"""What was supplied, reconciled: every log's book opened, explained, and put into a statement."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.circular import drafted, own_up
from tuneledger.errors import SheetError
from tuneledger.explain.explain import Explanation, explain
from tuneledger.explain.fitness import of_another_car
from tuneledger.explain.frozen import drifts_all_the_same
from tuneledger.explain.grain import Grain
from tuneledger.explain.included import with_what_scheduled_contains
from tuneledger.explain.misnamed import why_lacking
from tuneledger.explain.model import Need
from tuneledger.explain.opened import OpenedBook
from tuneledger.explain.ratelimited import with_rate_limits
from tuneledger.explain.sheets import LaidSheet, lay
from tuneledger.explain.smoothedsum import smoothed_sum
from tuneledger.explain.unsettled import candidates, no_delivered, nothing_to_start_from
from tuneledger.explain.untrusted import without_untrusted
from tuneledger.ledger.book import Book, open_book
from tuneledger.ledger.smoothed import Smoothing
from tuneledger.ledger.tolerance import tolerance
from tuneledger.logs.model import Log
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Roles
from tuneledger.sidebyside import both, side_by_side
from tuneledger.statement.model import LogAccount, Statement, SuppliedSheet
from tuneledger.supplied import Supplied

# What no supplied sheet says.
_BEYOND_SHEETS = ("hidden rule", "other map", "unknown")
_NOTHING_ASKED = "neither the log nor a sheet says what was asked for"


def reconcile(supplied: Supplied, *, keep_own: bool = False) -> Statement:
    """Reconcile logs with sheets; the first sheet is the one that the ECU is said to run.

    keep_own: hold a sheet that was read out of these very logs against them all the same. Else it
              is set aside, since it fits by its making. That it was read out is said in any case.
    """
    found = drafted(supplied)
    own = () if keep_own else tuple(one.sheet for one in found if one.circular)
    judged = tuple(sheet for sheet in supplied.sheets if sheet not in own)
    statement = _reconciled(replace(supplied, sheets=judged) if own else supplied)
    return own_up(statement, found, supplied.sheets) if found else statement


def _reconciled(supplied: Supplied) -> Statement:
    opened = [_open(log, roles, supplied.sheets) for log, roles in supplied.logs]
    books = [OpenedBook(book, laid) for book, laid in opened if book is not None]
    if len(books) < len(opened):
        return _without_account(supplied, opened)
    books = with_rate_limits(with_what_scheduled_contains(books))
    if any(drifts_all_the_same(one.book, one.laid) for one in books):
        trusted = _trusted(supplied, books)
        if trusted is not None:
            return _reconciled(trusted)
    explanation = explain(books, _carriers(supplied.sheets))
    trusted = None if _comes_out(explanation) else _trusted(supplied, books)
    if trusted is not None:
        return _reconciled(trusted)
    return Statement(
        logs=tuple(
            LogAccount(log, roles, ledger)
            for (log, roles), ledger in zip(supplied.logs, explanation.ledgers, strict=True)
        ),
        sheets=supplied.sheets,
        tolerance_deg=max(_without_noise(one.book) for one in books),
        verdict=explanation.verdict,
        headline=explanation.headline,
        running=explanation.running,
        episodes=explanation.episodes,
        causes=explanation.causes,
        notes=(*supplied.notes, *explanation.notes),
        needs=explanation.needs,
        loading=explanation.loading,
        experiments=explanation.experiments,
    )


def _without_noise(book: Book) -> float:
    return book.noise.besides_deg if book.noise else book.tolerance


def _comes_out(explanation: Explanation) -> bool:
    """Whether a sheet accounts for all logs, read as they are."""
    running = explanation.running
    beyond = any(one.kind in _BEYOND_SHEETS for one in explanation.causes)
    return running is None or (
        (running.matches_supplied or (running.best is not None and not beyond))
        and explanation.verdict in ("agrees", "expected", "explained")
    )


def _trusted(supplied: Supplied, books: Sequence[OpenedBook]) -> Supplied | None:
    """What was supplied, without channels that are not to be trusted; None where all are."""
    roles = [without_untrusted(one) for one in books]
    if not any(roles):
        return None
    logs = zip(supplied.logs, roles, strict=True)
    return replace(supplied, logs=tuple((log, new or old) for (log, old), new in logs))


def _open(
    log: Log, roles: Roles, sheets: Sequence[SuppliedSheet]
) -> tuple[Book | None, tuple[LaidSheet, ...]]:
    """One log's book, and every sheet laid over it."""
    delivered = roles.get("delivered advance")
    if delivered is None:
        return None, ()
    inputs = LogInputs(log, roles, log.times(delivered.channel))
    grain = Grain(inputs)

    def over_the_log(numbered: tuple[int, SuppliedSheet]) -> LaidSheet:
        index, sheet = numbered
        return lay(index, sheet.file, sheet.calibration, inputs, grain)

    def opened(start: LaidSheet | None, smoothing: Smoothing | None = None) -> Book | None:
        return open_book(
            log,
            roles,
            inputs,
            map_advance=start.map_values if start else None,
            map_unseen=start.resolution.unseen if start else None,
            redline_rpm=sheets[0].calibration.engine.redline_rpm if sheets else None,
            smoothing=smoothing,
        )

    # The first sheet before the others: what they share with it is then known. Where scheduled is
    # logged, the book needs no map to start from, and is opened meanwhile.
    numbered = list(enumerate(sheets))
    logged = roles.get("scheduled advance") is not None
    book, first = both(
        lambda: opened(None) if logged else None,
        lambda: tuple(map(over_the_log, numbered[:1])),
    )
    laid = (*first, *side_by_side(over_the_log, numbered[1:]))
    if faults := of_another_car(log, inputs, laid):
        raise SheetError(faults)
    if not logged:
        known = bool(laid) and bool(np.isfinite(laid[0].map_values).any())
        book = opened(laid[0] if known else None)
    elif book is not None and (smoothing := smoothed_sum(book, laid)) is not None:
        book = opened(None, smoothing)
    inputs.signal("delivered advance", None)  # what the logger filled there is to be told as well
    return book and replace(book, notes=(*book.notes, *inputs.notes)), laid


def _carriers(sheets: Sequence[SuppliedSheet]) -> Mapping[str, str]:
    """Correction id → the channel that a sheet says carries it; the first sheet decides."""
    return {
        correction.id: correction.logged_as
        for sheet in reversed(sheets)
        for correction in sheet.calibration.spark.correction
        if correction.logged_as
    }


def _without_account(
    supplied: Supplied, opened: Sequence[tuple[Book | None, tuple[LaidSheet, ...]]]
) -> Statement:
    """The statement where a log lacks what an account needs: it says what to log."""
    needs: dict[str, Need] = {}
    headlines: list[str] = []
    shown: list[str] = []
    for (log, roles), (book, laid) in zip(supplied.logs, opened, strict=True):
        if book is not None:
            continue
        if roles.get("delivered advance") is None:
            headlines.append(no_delivered(log.file, roles))
            needs |= {need.what: need for need in _delivered_needs(roles, bool(supplied.sheets))}
            continue
        lacking = laid[0].map_missing if laid else ()
        perhaps = _perhaps(roles, "scheduled advance")
        headlines.append(nothing_to_start_from(log.file, lacking, perhaps, roles))
        needs["scheduled advance"] = Need(
            "scheduled advance",
            "no channel is surely it, and no sheet says what was asked for"
            if perhaps
            else _NOTHING_ASKED,
        )
        from tuneledger.explain.recovered import notes, recover

        found = recover(log, roles)
        shown += notes(found) if found is not None else ()
        for name in lacking:
            needs[name] = Need(name, f"the main map reads it and {why_lacking(name, roles)}")
    of_logs = (
        note for log, roles in supplied.logs for note in (*log.notes, *log.cell_notes, *roles.notes)
    )
    return Statement(
        logs=tuple(LogAccount(log, roles, None) for log, roles in supplied.logs),
        sheets=supplied.sheets,
        tolerance_deg=tolerance(),
        verdict="cannot tell",
        headline=headlines[0],
        running=None,
        episodes=(),
        causes=(),
        notes=tuple(dict.fromkeys((*supplied.notes, *of_logs, *shown))),
        needs=tuple(needs.values()),
    )


def _delivered_needs(roles: Roles, by_sheet: bool) -> Iterator[Need]:
    """What to log where delivered is not; by_sheet: a sheet can stand in for scheduled."""
    yield Need("delivered advance", _why_delivered(roles))
    if roles.get("scheduled advance") is None and not by_sheet:
        unfit = any(m.signal == "scheduled advance" for m in roles.misfits)
        why = why_lacking("scheduled advance", roles) if unfit else _NOTHING_ASKED
        yield Need("scheduled advance", why)


def _why_delivered(roles: Roles) -> str:
    """Why delivered has to be logged, and why the channel that comes near it does not do."""
    doubt = next((d for d in roles.doubts if d.signal == "delivered advance"), None)
    if doubt is not None and doubt.instead is not None:
        name = doubt.candidates[0][0].name
        return f"{name} may be it or the {doubt.instead[0]}, and nothing in the log says which"
    if any(m.signal == "delivered advance" for m in roles.misfits):
        return why_lacking("delivered advance", roles)
    if roles.parts:
        name, looks = roles.parts[0][0].name, roles.parts[0][1]
        return f"{name} looks like what is taken from it, not like it: {looks}"
    return "without it there is nothing to reconcile with"


def _perhaps(roles: Roles, signal: str) -> list[str]:
    """The channels that might carry a signal that none surely carries, with how likely each is."""
    doubt = next((d for d in roles.doubts if d.signal == signal), None)
    return candidates(doubt) if doubt else []
