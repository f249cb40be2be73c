"""An ECU that departs from its sheet in one place does not behave like that sheet."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import (
    AIR,
    AT,
    DEG,
    every_episode_has_a_cause,
    pulling,
    switched,
    with_lever,
    with_spark,
)
from tests.explain.told import first, kinds, told
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.statement.model import Statement, SuppliedSheet

RUN = climb()
TAKEN = along(RUN, AIR, AT, DEG)
EASED = charge_air((0.0, 0.0, -1.0, -2.0))
WET = switched("wet-road", -4.0, title="Wet-road switch", reason="driver switch")
OFF = {**charge_air(DEG), "enabled": False}
C = sheet("rev-c.toml", "C", [charge_air(DEG)])
D = sheet("rev-d.toml", "D", [EASED, WET])


def no_sheet_runs(statement: Statement) -> bool:
    running = statement.running
    return running is not None and running.best is None and not running.matches_supplied


@pytest.mark.parametrize("sheets", [(D, C), (C, D)], ids=["D first", "C first"])
def test_one_sheets_correction_in_another_sheets_version_is_neither_sheet(
    sheets: tuple[SuppliedSheet, ...],
) -> None:
    run = with_lever(RUN).post("charge-air", TAKEN).post("wet-road", pulling(RUN, -4.0))
    statement = told(run, *sheets)
    assert no_sheet_runs(statement)
    assert "ehaves like revision D" not in statement.headline
    assert {cause.correction for cause in statement.causes} == {"charge-air", "wet-road"}
    owners = {cause.correction: cause.kind for cause in statement.causes}
    first_is_d = sheets[0] is D
    assert owners["charge-air"] == ("other revision" if first_is_d else "correction")
    assert owners["wet-road"] == ("correction" if first_is_d else "other revision")


def test_a_correction_that_acts_although_the_sheet_has_it_switched_off() -> None:
    statement = told(RUN.post("charge-air", TAKEN), sheet("rev-d.toml", "D", [OFF]))
    assert no_sheet_runs(statement)
    assert kinds(statement) == ["correction"]
    assert "switched off" in first(statement).says
    assert "Read the ECU back" in first(statement).next_step
    assert statement.exit_status == 1
    assert every_episode_has_a_cause(statement)


def including(made: SuppliedSheet) -> SuppliedSheet:
    """The sheet that says its scheduled channel already contains the charge-air correction."""
    return with_spark(made, scheduled_includes=("charge-air",))


def retarded() -> Run:
    """A run whose scheduled channel already contains the charge-air correction."""
    return replace(RUN, scheduled=np.round(RUN.scheduled + TAKEN, 1))


def test_what_scheduled_contains_is_not_posted_again() -> None:
    on = including(sheet("rev-d.toml", "D", [charge_air(DEG)]))
    statement = told(retarded(), on)
    assert statement.verdict == "agrees"
    assert statement.causes == ()


def test_what_is_switched_off_is_not_contained_in_scheduled() -> None:
    off = including(sheet("rev-d.toml", "D", [OFF]))
    statement = told(RUN, off)
    assert statement.verdict == "agrees"
    assert statement.running is not None
    assert statement.running.matches_supplied


def test_scheduled_that_contains_what_is_switched_off_is_not_the_sheets() -> None:
    off = including(sheet("rev-d.toml", "D", [OFF]))
    statement = told(retarded(), off)
    assert statement.verdict != "agrees"
    assert statement.exit_status == 1
    assert no_sheet_runs(statement)


def test_scheduled_without_what_it_should_contain_is_not_the_sheets() -> None:
    on = including(sheet("rev-d.toml", "D", [charge_air(DEG)]))
    statement = told(RUN, on)
    assert statement.verdict != "agrees"
    assert no_sheet_runs(statement)
