"""Rehearsal: a log and the sheet that it was driven with in, what an edit would have done out."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from tuneledger.accounting import reconcile
from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.model import Axis, Calibration
from tuneledger.change.bearing import bearing
from tuneledger.change.differences import differences
from tuneledger.change.edits import Change, carry_out, read_changes
from tuneledger.change.given_up import given_up
from tuneledger.change.limits import lifted
from tuneledger.change.raises import Driven, Raise, raises
from tuneledger.change.rehearsal import LEAST_DEG, Moved, Rehearsal, Shift
from tuneledger.change.replay import Between, between
from tuneledger.change.said import headline, needs, notes
from tuneledger.errors import Fault, UsageError
from tuneledger.evaluate.lookup import cell_of
from tuneledger.evaluate.model import Inputs
from tuneledger.evaluate.readings import read
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
        return edited, differences(old, edited)
    assert changes is not None
    edits = read_changes(changes)
    return carry_out(old, edits, file=str(changes), sheet=sheet)


def rehearse_edit(
    statement: Statement, edited: Calibration, changes: tuple[Change, ...]
) -> Rehearsal:
    """The rehearsal of an edited sheet on a statement of one log and one sheet."""
    account = statement.logs[0]
    ledger = account.ledger
    nothing = np.zeros(0, dtype=np.bool_)
    bare = Rehearsal(
        statement=statement,
        edited=edited,
        changes=changes,
        ledger=None,
        moves=np.zeros(0),
        counted=nothing,
        under_load=nothing,
        cells=(),
        shifts=(),
        headline=statement.headline,
        notes=statement.notes,
        needs=statement.needs,
    )
    if ledger is None:
        return bare
    inputs = LogInputs(account.log, account.roles, ledger.times)
    supplied = statement.sheets[0]
    grain = Grain(inputs)
    old = lay(0, supplied.file, supplied.calibration, inputs, grain)
    new = lay(1, supplied.file, edited, inputs, grain)
    logged = account.roles.get("scheduled advance") is not None
    found = between(ledger, old, new, logged=logged)
    counted = ledger.own & ~ledger.void & np.isfinite(ledger.delivered)
    outcome = replace(
        ledger,
        scheduled=found.start,
        delivered=ledger.delivered + found.moves,
        entries=found.entries,
    )
    redline = supplied.calibration.engine.redline_rpm
    rehearsal = replace(
        bare,
        ledger=outcome,
        moves=found.moves,
        counted=counted,
        under_load=find_regimes(inputs, redline_rpm=redline).load,
    )
    rehearsal = replace(
        rehearsal,
        cells=_cells(rehearsal, old, inputs),
        shifts=_shifts(rehearsal, ledger, found, old, new),
        unseen=_unseen(rehearsal, old, new, inputs),
        limits=lifted(old.calibration, edited).says,
        bearing=bearing(ledger, old, new, logged=logged, counted=counted, moving=rehearsal.moving),
    )
    moved = rehearsal.moving & rehearsal.under_load
    moves, lasts = rehearsal.moves, rehearsal.seconds(moved)
    rehearsal = replace(rehearsal, given_up=given_up(moves, moved, inputs, lasts))
    return replace(
        rehearsal,
        headline=headline(rehearsal),
        notes=notes(rehearsal, old, new, inputs, found.changed),
        needs=needs(old, new, found.changed),
    )


def _cells(rehearsal: Rehearsal, old: LaidSheet, inputs: Inputs) -> tuple[Moved, ...]:
    """The cells of the map in which delivered moves, those that move most first."""
    axes = old.calibration.spark.map.axes
    columns = [read(axis, inputs) for axis in axes]
    if any(column is None for column in columns):
        return ()
    rows = np.flatnonzero(rehearsal.moving)
    index = np.zeros(rows.size, dtype=np.int64)
    for axis, column in zip(axes, columns, strict=True):
        assert column is not None
        index = index * len(axis.at) + cell_of(axis.points, column[rows])
    out = []
    for cell in np.unique(index):
        here = rows[index == cell]
        mask = np.zeros(rehearsal.moves.shape, dtype=np.bool_)
        mask[here] = True
        mean = float(rehearsal.moves[here].mean())
        out.append(Moved(_points(axes, int(cell)), mean, rehearsal.seconds(mask)))
    return tuple(sorted(out, key=lambda m: -abs(m.mean_deg) * m.seconds))


def _unseen(
    rehearsal: Rehearsal, old: LaidSheet, new: LaidSheet, inputs: Inputs
) -> tuple[Raise, ...]:
    """Where the edit raises advance and this drive never was."""
    parts = [*old.parts.values(), *new.parts.values()]
    drive = Driven.of(inputs, rehearsal.counted, parts)
    found = raises(old.calibration, new.calibration, [drive])
    return tuple(one for one in found if one.seen is False)


def _points(axes: tuple[Axis, ...], cell: int) -> tuple[float, ...]:
    at: list[float] = []
    for axis in reversed(axes):
        cell, index = divmod(cell, len(axis.at))
        at.append(axis.at[index])
    return tuple(reversed(at))


def _shifts(
    rehearsal: Rehearsal, ledger: Ledger, found: Between, old: LaidSheet, new: LaidSheet
) -> tuple[Shift, ...]:
    """Every posting that moves, the map's own among them, the largest first."""
    before = {entry.correction: entry.values for entry in ledger.entries}
    nothing = np.zeros(ledger.times.shape)
    pairs: list[tuple[str, FloatArray]] = [("", found.start - ledger.scheduled)]
    pairs += [(e.correction, e.values - before.get(e.correction, nothing)) for e in found.entries]
    changed = {"", *found.changed}
    if old.calibration.spark.limits != new.calibration.spark.limits:
        changed.add("limit")
    out = []
    for name, shift in pairs:
        rows: BoolArray = rehearsal.counted & (np.abs(np.nan_to_num(shift)) >= LEAST_DEG)
        if rows.any():
            moved = shift[rows]
            out.append(
                Shift(
                    entry=name,
                    called=_called(name, old, new),
                    mean_deg=float(moved.mean()),
                    peak_deg=float(moved[np.abs(moved).argmax()]),
                    seconds=rehearsal.seconds(rows),
                    edited=name in changed,
                )
            )
    return tuple(sorted(out, key=lambda s: (not s.edited, -abs(s.mean_deg) * s.seconds)))


def _called(name: str, old: LaidSheet, new: LaidSheet) -> str:
    correction = new.correction(name) or old.correction(name)
    if correction is not None:
        return correction.called
    return {"": "the main map", "limit": "the limits"}.get(name, name)
