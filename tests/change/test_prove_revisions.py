"""Was the change loaded at all? And does a protection have to act far more since?"""

import numpy as np
import pytest

from tests.change.proofs import hot, of, proof
from tests.explain.parts import DEG, during, hills, oil_guard, switched, with_lever
from tests.runs import Run, charge_air, climb, sheet
from tuneledger.change.proof_out import as_json, as_text

HALF = tuple(0.5 * deg for deg in DEG)
D = sheet("rev-d.toml", "D", [charge_air(DEG), switched("lever", -4.0)])
E = sheet("rev-e.toml", "E", [charge_air(HALF), switched("lever", -4.0)])
C = sheet("rev-c.toml", "C", [charge_air(DEG), switched("lever", -2.0)])


def drive(degrees: tuple[float, ...], lever: tuple[float, float] = (24.0, 34.0)) -> Run:
    """The climb on some day, with the lever on for a while."""
    run = climb()
    on = during(run, *lever)
    return with_lever(hot(run, degrees), on).post("lever", np.where(on, -4.0, 0.0))


def test_where_both_drives_run_the_old_revision_the_new_one_is_not_in_the_car() -> None:
    made = proof(drive(DEG), drive(DEG, (25.0, 34.0)), D, E)
    assert made.headline.startswith("Both drives are like revision D: E is not in the car")
    assert "before like revision D, after like revision D" in as_text(made, width=100)
    assert as_json(made)["running"] == {"before": "D", "after": "D"}


def test_beside_a_rule_in_no_file_nothing_shows_it_in_the_car() -> None:
    runs = [
        run.post("x", np.where(run.signals["throttle position"] > 70.0, -3.0, 0.0))
        for run in (drive(DEG), drive(DEG, (25.0, 34.0)))
    ]
    made = proof(*runs, D, E)
    assert "nearest to revision D: nothing shows E in the car" in made.headline


def test_a_revision_that_was_loaded_is_told() -> None:
    made = proof(drive(DEG), drive(HALF), D, E)
    assert "the car ran revision D before, and runs E now" in made.headline
    assert as_json(made)["running"] == {"before": "D", "after": "E"}


def test_where_a_drive_cannot_tell_the_sheets_apart_nothing_is_said_of_the_car() -> None:
    cool = climb(warmth=-60.0)
    runs = [with_lever(cool, on).post("lever", np.where(on, -4.0, 0.0))
            for on in (during(cool, 20, 30), during(cool, 21, 30))]  # fmt: skip
    made = proof(*runs, D, E)
    assert "in the car" not in made.headline
    assert "cannot tell apart" in as_text(made, width=120)


def test_of_one_sheet_and_of_three_no_other_one_is_missed() -> None:
    before, after = drive(DEG), drive(DEG, (25.0, 34.0))
    assert "running" not in as_json(proof(before, after, D))
    assert "in the car" not in proof(before, after, D, E, C).headline


def guarded(low: tuple[float, float]) -> Run:
    """The hills with oil pressure that is low for a while."""
    run = hills()
    on = during(run, *low)
    surge = 6.0 * np.sin(3.1 * run.times)
    return run.carry("Oil gallery", np.round(320.0 + surge - 170.0 * on)).post(
        "guard", np.where(on, -5.0, 0.0)
    )


@pytest.mark.parametrize(("until_s", "longer"), [(60.0, True), (26.5, False)])
def test_a_guard_that_acts_for_far_more_of_the_second_drive_is_said_first(
    until_s: float, longer: bool
) -> None:
    made = proof(
        guarded((20.0, 24.0)),
        guarded((20.0, until_s)),
        sheet("rev-d.toml", "D", [oil_guard(-5.0)]),
    )
    one = of(made, "oil-guard")
    assert (one.state, one.longer) == ("remains", "sensor guard" if longer else None)
    assert made.headline.startswith("Oil guard, which protects the engine, acts for") is longer
    assert ("find out why before going on" in one.says) is longer
    assert made.exit_status == 1


def test_causes_stand_in_the_order_of_their_numbers() -> None:
    """The first is not shown, the second remains: what remains would else stand first."""
    cool = climb(warmth=-60.0)
    on = during(cool, 24.0, 34.0)
    after = with_lever(cool, on).post("lever", np.where(on, -4.0, 0.0))
    made = proof(drive(DEG), after, D)
    assert [p.state for p in made.causes] == ["not shown", "remains"]
    lines = as_text(made, width=100).splitlines()
    assert [line[0] for line in lines if line[:1].isdigit()] == ["1", "2"]
