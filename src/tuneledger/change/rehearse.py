"""Rehearsal: a log and the sheet that it was driven with in, what an edit would have done out."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from tuneledger.accounting import reconcile
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.model import Calibration
from tuneledger.change.anew import under_their_names
from tuneledger.change.bearing import bearing
from tuneledger.change.differences import differences
from tuneledger.change.eased import eased_words
from tuneledger.change.edits import Change, carry_out, read_changes, refuse_impossible
from tuneledger.change.given_up import given_up
from tuneledger.change.limits import lifted
from tuneledger.change.rehearsal import Rehearsal, not_replayed
from tuneledger.change.replay import Between, between
from tuneledger.change.said import headline, needs, notes, with_care
from tuneledger.change.shifts import cells, shifts, unseen
from tuneledger.errors import Fault, UsageError
from tuneledger.explain.grain import Grain
from tuneledger.explain.sheets import LaidSheet, lay
from tuneledger.ledger.model import Ledger
from tuneledger.ledger.regimes import find_regimes
from tuneledger.roles.inputs import LogInputs
from tuneledger.statement.model import Statement
from tuneledger.supplied import open_supplied


def rehearse(
    log: Path | str,
    sheet: Path | str,
    *,
    changes: Path | str | None = None,
    to: Path | str | None = None,
    roles_file: Path | None = None,
    memory: bool = True,
) -> Rehearsal:
    """Replay a log under a changed sheet.

    changes: a change file; to: another sheet. Exactly one of the two.
    Raises a `TuneledgerError` that says which file cannot be used and why.
    """
    supplied = open_supplied([Path(log), Path(sheet)], roles_file=roles_file, memory=memory)
    if len(supplied.logs) != 1 or len(supplied.sheets) != 1:
        raise UsageError(
            Fault(
                f"{log} and {sheet} are not a log and a sheet",
                expected="one log, and the sheet that the ECU is said to run",
            )
        )
    old = supplied.sheets[0].calibration
    edited, changed = edited_sheet(old, str(sheet), changes=changes, to=to)
    return rehearse_edit(reconcile(supplied, keep_own=True), edited, changed)


def edited_sheet(
    old: Calibration, sheet: str, *, changes: Path | str | None, to: Path | str | None
) -> tuple[Calibration, tuple[Change, ...]]:
    """The sheet with its edits, and what each changes."""
    if (changes is None) == (to is None):
        raise UsageError(
            Fault(
                "no change is named" if to is None else "two changes are named",
                expected="either a change file (--change) or another sheet (--to)",
            )
        )
    if to is not None:
        edited = open_calibration(to)
        refuse_impossible(old, edited, str(to))
        return edited, differences(old, edited)
    assert changes is not None
    edits = read_changes(changes)
    return carry_out(old, edits, file=str(changes), sheet=sheet)


def rehearse_edit(
    statement: Statement, edited: Calibration, changes: tuple[Change, ...]
) -> Rehearsal:
    """The rehearsal of an edited sheet on a statement of one log and one sheet."""
    account, supplied = statement.logs[0], statement.sheets[0]
    if account.ledger is None:
        bare = not_replayed(statement, edited, changes)
        lost = eased_words(supplied.calibration, edited)
        return replace(bare, headline=with_care(bare.headline, lost), eased=lost)
    inputs = LogInputs(account.log, account.roles, account.ledger.times)
    grain = Grain(inputs)
    old = lay(0, supplied.file, supplied.calibration, inputs, grain)
    new = lay(1, supplied.file, edited, inputs, grain)
    logged = account.roles.get("scheduled advance") is not None
    ledger = under_their_names(account.ledger, statement.causes)
    found = between(ledger, old, new, logged=logged)
    bare = not_replayed(statement, edited, changes)
    replayed = _replayed(bare, ledger, found, inputs)
    rehearsal = _judged(replayed, ledger, old, new, inputs, found)
    return replace(
        rehearsal,
        headline=headline(rehearsal),
        notes=notes(rehearsal, old, new, inputs, found.changed),
        needs=needs(old, new, found.changed),
    )


def _replayed(bare: Rehearsal, ledger: Ledger, found: Between, inputs: LogInputs) -> Rehearsal:
    """With the account as it would be, row by row."""
    redline = bare.statement.sheets[0].calibration.engine.redline_rpm
    return replace(
        bare,
        ledger=replace(
            ledger,
            scheduled=found.start,
            delivered=ledger.delivered + found.moves,
            entries=found.entries,
        ),
        moves=found.moves,
        counted=ledger.own & ~ledger.void & np.isfinite(ledger.delivered),
        under_load=find_regimes(inputs, redline_rpm=redline).load,
    )


def _judged(
    rehearsal: Rehearsal,
    ledger: Ledger,
    old: LaidSheet,
    new: LaidSheet,
    inputs: LogInputs,
    found: Between,
) -> Rehearsal:
    """With all that is made of the rows: cells, shifts, what was not driven, and so on."""
    account = rehearsal.statement.logs[0]
    pulling = rehearsal.moving & rehearsal.under_load
    return replace(
        rehearsal,
        cells=cells(rehearsal, old, inputs),
        shifts=shifts(rehearsal, ledger, found, old, new),
        unseen=unseen(rehearsal, old, new, inputs),
        limits=lifted(old.calibration, rehearsal.edited).says,
        eased=eased_words(old.calibration, rehearsal.edited),
        bearing=bearing(
            ledger,
            old,
            new,
            logged=account.roles.get("scheduled advance") is not None,
            counted=rehearsal.counted,
            moving=rehearsal.moving,
        ),
        given_up=given_up(rehearsal.moves, pulling, inputs, rehearsal.seconds(pulling)),
    )
