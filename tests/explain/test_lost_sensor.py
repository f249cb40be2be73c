"""A temperature that leaps far outside all that it was and stands there: its sensor is lost."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import AIR
from tests.explain.told import told
from tests.runs import Run, charge_air, climb, sheet
from tuneledger.roles.facts import lost_from
from tuneledger.statement.model import Statement

RUN = climb()
DEGREES = (0.0, 0.0, -3.0, -6.0)
WARM = np.round(np.interp(RUN.times, [0, 20, 35, 60], [28.0, 46.0, 41.0, 52.0]), 1)
SHEET = sheet("rev-a.toml", "A", [charge_air(DEGREES)])


def after(stands: float) -> Statement:
    """The ECU reads what the log shows, as it does where its own sensor is lost."""
    air = np.where(RUN.times < 40.0, WARM, stands)
    taken = np.round(np.interp(air, (20.0, 40.0, 60.0, 80.0), DEGREES), 1)
    run: Run = replace(RUN, signals={**RUN.signals, AIR: air})
    return told(run.post("charge-air", taken), SHEET)


@pytest.mark.parametrize("stands", [-40.0, 120.0, 150.0])
def test_it_is_told_although_the_account_comes_out(stands: float) -> None:
    statement = after(stands)
    assert statement.running is not None
    assert statement.running.matches_supplied
    assert {cause.kind for cause in statement.causes} == {"correction"}
    note = next(note for note in statement.notes if "lost sensor" in note)
    assert note.startswith("Air in leaps to ")
    assert "at 40 s and stands there" in note


def test_one_that_is_lost_from_the_beginning_is_told_as_well() -> None:
    air = np.where(RUN.times < 2.0, 28.0, -40.0)
    statement = told(replace(RUN, signals={**RUN.signals, AIR: air}), SHEET)
    assert any("leaps to −40 °C at 2.0 s" in note for note in statement.notes)


def test_air_that_grows_hot_and_stays_hot_is_not_lost() -> None:
    assert lost_from(np.r_[np.linspace(20.0, 50.0, 60), np.full(40, 50.0)]) is None


def test_a_temperature_that_hardly_moves_before_it_warms_is_not_lost() -> None:
    warming = np.r_[np.repeat([20.0, 20.5, 21.0, 20.5, 21.0, 20.5], 5), np.full(40, 22.0)]
    assert lost_from(warming) is None
