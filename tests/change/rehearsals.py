"""Rehearsals that several tests hold."""

from functools import cache
from typing import Any

import numpy as np

from tests.explain.told import told
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.car.cases import Case, make_case
from tuneledger.change.edits import Edit, carry_out
from tuneledger.change.rehearsal import Rehearsal
from tuneledger.change.rehearse import rehearse_edit
from tuneledger.statement.model import Statement

AIR = (20.0, 40.0, 60.0, 80.0)


DEG = (0.0, 0.0, -3.0, -6.0)


@cache
def made_case(kind: str, seed: int) -> Case:
    return make_case(kind, seed)


def edited(statement: Statement, *edits: tuple[str, Any]) -> Rehearsal:
    supplied = statement.sheets[0]
    new, changes = carry_out(
        supplied.calibration,
        [Edit(place, to) for place, to in edits],
        file="changes.toml",
        sheet=supplied.file,
    )
    return rehearse_edit(statement, new, changes)


def hot(run: Run) -> Run:
    return run.post("charge-air", along(run, "intake air temperature", AIR, DEG))


def hot_statement(*more: dict[str, Any], run: Run | None = None) -> Statement:
    return told(run or hot(climb()), sheet("rev-d.toml", "D", [charge_air(DEG), *more]))


def moves(rehearsal: Rehearsal) -> np.ndarray:
    return np.nan_to_num(rehearsal.moves)


def notes_of(rehearsal: Rehearsal) -> str:
    return "\n".join(rehearsal.notes)
