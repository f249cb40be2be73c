"""A sensor that stands still all through a drive is told where a sheet reads it."""

import numpy as np
import pytest

from tests.explain.labelled import written
from tests.runs import along, charge_air, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.roles import RolesFile
from tuneledger.statement.model import Statement

HOT = charge_air((0.0, 0.0, -2.0, -5.0))
AIR = RolesFile({"intake air temperature": "Inlet temp"})


def stands(values: FloatArray) -> FloatArray:
    return np.full_like(values, 35.0)


def notes(statement: Statement) -> list[str]:
    return [note for note in statement.notes if "never changes" in note]


def test_a_frozen_intake_air_is_told_where_a_correction_reads_it() -> None:
    run = climb()
    run = run.post(
        "charge-air", along(run, "intake air temperature", (20, 40, 60, 80), (0, 0, -2, -5))
    )
    statement = written(run, sheet("d.toml", "D", [HOT]), change={"Inlet temp": stands}, told=AIR)
    (note,) = notes(statement)
    assert note.startswith("Inlet temp never changes (35 °C)")
    assert "Hot charge air" in note


@pytest.mark.parametrize("reads", [True, False])
def test_one_that_moves_or_that_nothing_reads_is_not_told(reads: bool) -> None:
    corrections = [HOT] if reads else []
    change = {} if reads else {"Inlet temp": stands}
    assert notes(written(climb(), sheet("d.toml", "D", corrections), change=change, told=AIR)) == []


def test_an_idle_target_that_stands_is_as_it_should_be() -> None:
    assert notes(written(climb(), sheet("d.toml", "D", [HOT]))) == []
