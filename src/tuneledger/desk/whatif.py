"""What if: edits of the running sheet, rehearsed on every log of a case."""

import sys
from collections.abc import Mapping, Sequence
from typing import Any

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration
from tuneledger.change.differences import differences
from tuneledger.change.edits import Change, Edit, carry_out
from tuneledger.change.places import place_words, value_at
from tuneledger.change.rehearsal import Rehearsal
from tuneledger.change.rehearsal_text import CAUTION
from tuneledger.change.rehearse import rehearse_edit
from tuneledger.errors import ChangeError, Fault
from tuneledger.pages.data import PLACES
from tuneledger.pages.names import name_of, text_of
from tuneledger.pages.pack import Packed, Packer
from tuneledger.record import record
from tuneledger.statement.facts import called
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.wording import degrees, seconds, sentence

FILE = "what if"
_MOST_EDITS = 500
_MOST_CHANGES = 24  # listed
_MOST_NOTES = 6


@record(eq=False)
class WhatIf:
    """Edits, or all of another sheet, carried out and rehearsed.

    to:         file of the other sheet; "" for edits
    rehearsals: one per log, None without an account, and where another revision ran
    elsewhere:  log's file → the revision that ran there
    """

    sheet: SuppliedSheet
    edits: tuple[Edit, ...]
    to: str
    changes: tuple[Change, ...]
    rehearsals: tuple[Rehearsal | None, ...]
    elsewhere: Mapping[str, str]

    @property
    def rehearsed(self) -> tuple[FloatArray | None, ...]:
        """Delivered as it would be, per row of each log's ledger."""
        if not self.edits and not self.to:
            return tuple(None for _ in self.rehearsals)
        return tuple(r.ledger.delivered if r and r.ledger else None for r in self.rehearsals)


def running_sheet(statement: Statement) -> SuppliedSheet | None:
    """The sheet that an edit starts from: like which the car ran last, else the first.

    None without one, but for what was read out of these logs: no account was drawn up with it.
    """
    own = statement.running.read_out if statement.running else ()
    sheets = [sheet for sheet in statement.sheets if sheet.file not in own]
    best = _best(statement)
    return next((s for s in sheets if s.file == best), sheets[0] if sheets else None)


def _best(statement: Statement) -> str:
    """The file of the sheet like which the car ran last; "" where none fits."""
    running = statement.running
    return (running.in_car or "") if running and running.best else ""


def _ran(statement: Statement, log: int) -> SuppliedSheet | None:
    """The sheet like which the car ran in one log, the longest of several; None where none fits."""
    spans = statement.running.spans if statement.running else ()
    own = [span for span in spans if span.log == log and span.file]
    longest = max(own, key=lambda span: span.end_s - span.start_s, default=None)
    return next((s for s in statement.sheets if longest and s.file == longest.file), None)


def read_edits(given: Any) -> tuple[Edit, ...]:
    """Edits as a page sends them: a list of `{"place", "to"}`. ChangeError where they are none."""
    fits = isinstance(given, list) and len(given) <= _MOST_EDITS
    if not fits or not all(isinstance(i, dict) and isinstance(i.get("place"), str) for i in given):
        raise ChangeError(Fault("these are no edits", file=FILE))
    for item in given:
        to = item.get("to")
        number = isinstance(to, int | float) and not isinstance(to, bool)
        if not isinstance(to, bool) and not (number and abs(to) <= sys.float_info.max):
            raise ChangeError(Fault("not a number", file=FILE, place=name_of(item["place"])))
    return tuple(
        Edit(i["place"], i["to"] if isinstance(i["to"], bool) else float(i["to"])) for i in given
    )


def what_if(statement: Statement, edits: Sequence[Edit], to: str = "") -> WhatIf | None:
    """The edits rehearsed, or all of the sheet in the file `to`; None where there is no sheet.

    Raises ChangeError with every edit that has no place in the sheet, or makes it unfit.
    """
    sheet = running_sheet(statement)
    if sheet is None:
        return None
    other = next((s for s in statement.sheets if s.file == to and s is not sheet), None)
    if other is not None:
        edits, edited = (), other.calibration
        changes = differences(sheet.calibration, edited)
    else:
        edited, changes = carry_out(sheet.calibration, edits, file=FILE, sheet=sheet.file)
    rehearsals: list[Rehearsal | None] = []
    elsewhere: dict[str, str] = {}
    for index, account in enumerate(statement.logs if edits or other else ()):
        ran = _ran(statement, index)
        if ran is not None and ran.file != sheet.file:
            elsewhere[account.log.file] = called(statement, ran.calibration.revision, ran.file)
            rehearsals.append(None)
            continue
        alone = Statement(
            logs=(account,),
            sheets=(sheet,),
            tolerance_deg=statement.tolerance_deg,
            verdict=statement.verdict,
            headline=statement.headline,
            running=None if sheet.file == _best(statement) else statement.running,
            episodes=(),
            causes=statement.causes,
            notes=(),
            needs=(),
        )
        rehearsals.append(rehearse_edit(alone, edited, changes) if account.ledger else None)
    found = tuple(rehearsals) or tuple(None for _ in statement.logs)
    to = other.file if other else ""
    return WhatIf(sheet, tuple(edits), to, changes, found, elsewhere)


def told(found: WhatIf) -> dict[str, Any]:
    """What a page shows of it: the words, and the rehearsed line of each log, packed."""
    packer = Packer()
    packed: list[Packed | None] = [
        None if values is None else packer.add(values, PLACES) for values in found.rehearsed
    ]
    return {
        "changes": [_change(change, found) for change in found.changes[:_MOST_CHANGES]],
        "unlisted": max(0, len(found.changes) - _MOST_CHANGES),
        "logs": [
            *(_log(r) for r in found.rehearsals if r is not None),
            *(_elsewhere(file, revision, found) for file, revision in found.elsewhere.items()),
        ],
        "rehearsed": packed,
        "samples": packer.base64(),
        "caution": CAUTION if found.changes else "",
    }


def _change(change: Change, found: WhatIf) -> dict[str, str]:
    return {
        "place": text_of(place_words(change.place, *_sheets(found))),
        "before": text_of(value_at(change.place, change.before)),
        "after": text_of(value_at(change.place, change.after)),
    }


def _elsewhere(file: str, revision: str, found: WhatIf) -> dict[str, Any]:
    own = name_of(found.sheet.calibration.revision)
    ran = name_of(revision)
    says = (
        f"Not rehearsed: this log behaves like revision {ran}, and what is changed here is {own}."
    )
    return {"file": name_of(file), "headline": says, "moves": [], "notes": []}


def _sheets(found: WhatIf) -> list[Calibration]:
    """Whose words tell a place: the sheet's own, then the other's."""
    edited = [r.edited for r in found.rehearsals if r is not None]
    return [found.sheet.calibration, *edited[:1]]


def _log(rehearsal: Rehearsal) -> dict[str, Any]:
    notes = [*rehearsal.notes, *(f"{need.what}: {need.why}" for need in rehearsal.needs)]
    return {
        "file": name_of(rehearsal.statement.logs[0].log.file),
        "headline": text_of(rehearsal.headline),
        "moves": [
            {
                "what": text_of(shift.called) + ("" if shift.edited else ", moved along"),
                "mean": degrees(shift.mean_deg),
                "peak": degrees(shift.peak_deg),
                "seconds": seconds(shift.seconds),
            }
            for shift in rehearsal.shifts[:8]
        ],
        "notes": [sentence(text_of(note)) for note in notes[:_MOST_NOTES]],
    }
