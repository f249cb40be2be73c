"""A protection that acted before and is gone after is said first, and never ends in status 0."""

from typing import Any

import numpy as np
import pytest

from tests.change.proofs import HOT, LEVER, hot, of, proof
from tests.explain.parts import DEG, pulling, switched, with_lever
from tests.runs import Run, charge_air, climb, sheet
from tuneledger.statement.model import SuppliedSheet

RETARD = "Knock share"


def knocking(**more: Any) -> SuppliedSheet:
    own = {"id": "knock", "title": "Knock control", "reason": "knock", "logged_as": RETARD, **more}
    return sheet("rev-d.toml", "D", [own])


def knocked(run: Run) -> Run:
    """Knock control takes 3° for the ten seconds of the long pull, and says so."""
    return run.post("knock", pulling(run, -3.0)).carry(RETARD, pulling(run, -3.0))


def quiet(run: Run) -> Run:
    return run.carry(RETARD, np.zeros(run.times.shape))


def test_knock_control_that_took_advance_and_takes_none_is_asked_about() -> None:
    made = proof(knocked(climb()), quiet(climb()), knocking())
    one = of(made, "knock")
    assert (one.state, one.protected) == ("gone", "knock")
    assert "these logs cannot tell which. Make sure that it is on" in one.says
    assert made.headline.startswith("Knock control, which protects the engine, is gone")
    assert made.exit_status == 1


def test_that_its_channel_is_no_longer_logged_is_said() -> None:
    made = proof(knocked(climb()), climb(), knocking())
    assert f"The second log does not carry {RETARD}." in of(made, "knock").says
    assert made.exit_status == 1


def test_a_protection_that_somebody_wanted_is_no_less_missed() -> None:
    made = proof(knocked(climb()), quiet(climb()), knocking(expected="poor fuel that day"))
    assert of(made, "knock").cause.expected
    assert "be sure that it was meant to go" in made.headline
    assert made.exit_status == 1


def test_where_the_second_drive_did_not_go_no_protection_is_missed() -> None:
    parked = climb(8.0)
    made = proof(knocked(climb()), quiet(parked), knocking())
    assert of(made, "knock").state == "not shown"
    assert made.exit_status == 3


OTHERS = {
    "no longer has it": sheet("rev-e.toml", "E", []),
    "has it off": sheet("rev-e.toml", "E", [charge_air(DEG) | {"enabled": False}]),
    "has it so that it would take nothing here": sheet(
        "rev-e.toml", "E", [charge_air((0.0, 0.0, 0.0, 0.0))]
    ),
}


@pytest.mark.parametrize("says", OTHERS)
def test_what_the_new_sheet_says_of_the_protection_is_told(says: str) -> None:
    made = proof(hot(climb()), climb(), OTHERS[says], HOT)
    one = of(made, "charge-air")
    assert one.state == "gone"
    assert f"Revision E {says}" in one.says
    assert made.exit_status == 1


def test_a_protection_that_the_sheet_still_has_and_the_ecu_no_longer_posts_is_to_be_read_back() -> (
    None
):
    made = proof(hot(climb()), climb(), HOT)
    says = "Revision D still has it, and the ECU does none of it: read the ECU back."
    assert of(made, "charge-air").says.endswith(says)
    assert made.exit_status == 1


def test_what_protects_nothing_may_go_unasked() -> None:
    run = with_lever(climb())
    made = proof(run.post("lever", pulling(run, -4.0)), run, LEVER)
    assert of(made, "lever").state == "gone"
    assert "protects" not in of(made, "lever").says
    assert made.exit_status == 0


def test_two_protections_are_missed_together() -> None:
    guard = switched("guard", -4.0, reason="sensor guard")
    both = sheet("rev-d.toml", "D", [charge_air(DEG), guard])
    run = with_lever(hot(climb())).post("guard", pulling(climb(), -4.0))
    made = proof(run, with_lever(climb()), both)
    assert ", which protect the engine, are gone: be sure that they were" in made.headline


MEANT = sheet("rev-e.toml", "E", [charge_air((0.0, 0.0, -0.5, -1.0))])


@pytest.mark.parametrize("sheets", [(MEANT,), (HOT,), (MEANT, HOT)])
def test_a_protection_that_takes_less_than_before_was_eased_and_is_not_gone(
    sheets: tuple[SuppliedSheet, ...],
) -> None:
    made = proof(hot(climb()), hot(climb(), (0.0, 0.0, -0.5, -1.0)), *sheets)
    (one,) = [p for p in made.causes if p.eased]
    assert (one.state, one.eased) == ("remains", "air temperature")
    assert "was eased: be sure that it was meant to be" in one.says
    assert "which protects the engine, is eased" in made.headline
    assert "gone" not in made.headline
    assert made.exit_status == 1


def test_a_protection_that_takes_as_much_as_before_was_not_eased() -> None:
    made = proof(hot(climb()), hot(climb()), HOT)
    assert of(made, "charge-air").state == "remains"
    assert made.eased == ()
