"""A temperature that stands at one plausible number while the engine warms: what reads it is
suspected before anything else is stated along another channel."""

from typing import Any

import numpy as np
import pytest

from tests.explain.labelled import written
from tests.explain.parts import switched, with_lever
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.explain.model import SURE
from tuneledger.roles import RolesFile

COOLANT, OIL, AIR = "engine coolant temperature", "oil temperature", "intake air temperature"
AT, COLD = (10.0, 30.0, 50.0, 70.0), (6.0, 4.0, 2.0, 0.0)
WARM_UP: dict[str, Any] = {
    "id": "warm-up",
    "title": "Warm-up advance",
    "axes": [{"signal": COOLANT, "unit": "degC", "at": AT}],
    "values": COLD,
}
HOT = (-0.5, -1.0, -4.0, -7.0)


def cold_start(*, oil: bool) -> Run:
    """The climb with an engine that warms from 20 °C, and its coolant's channel."""
    run = climb()
    warm = np.round(80.0 - 60.0 * np.exp(-run.times / 30.0), 1)
    run = run.carry("Water", warm).post("warm-up", np.round(np.interp(warm, AT, COLD), 1))
    return run.carry("Oil temp", np.round(warm - 6.0, 1)) if oil else run


def frozen(at: float) -> Any:
    def stands(values: FloatArray) -> FloatArray:
        return np.full_like(values, at)

    return stands


@pytest.mark.parametrize("oil", [True, False])
def test_coolant_that_stands_while_the_engine_warms_is_suspected_and_no_rule_is_stated(
    oil: bool,
) -> None:
    run = with_lever(cold_start(oil=oil))
    run = run.post("lever", np.where(run.extra["Lever"] > 0.5, -3.0, 0.0))
    made = sheet("rev-d.toml", "D", [WARM_UP, switched("lever", -3.0)])
    told = RolesFile({COOLANT: "Water"} | ({OIL: "Oil temp"} if oil else {}))
    statement = written(run, made, change={"Water": frozen(85.0)}, told=told)
    assert statement.verdict == "cannot tell"
    assert {c.correction for c in statement.causes if not c.expected} == {"warm-up", "lever"}
    (suspect,) = [c for c in statement.causes if c.correction == "warm-up"]
    own = run.entries[0].values
    assert suspect.degrees == pytest.approx(float(own[own > 0.3].mean()), abs=0.2)
    assert suspect.certainty < SURE
    (lever,) = [c for c in statement.causes if c.correction == "lever"]
    assert (lever.degrees, lever.certainty >= SURE) == (pytest.approx(-3.0), True)
    assert [need.what for need in statement.needs] == [COOLANT]
    assert any("Water never changes (85) in a drive of 60 s" in n for n in statement.notes)


def test_frozen_intake_air_makes_no_switch_silent_that_took_what_the_sheet_says() -> None:
    run = with_lever(climb())
    run = run.post("charge-air", along(run, AIR, (20, 40, 60, 80), HOT))
    run = run.post("lever", np.where(run.extra["Lever"] > 0.5, -5.5, 0.0))
    made = sheet("rev-d.toml", "D", [charge_air(HOT), switched("lever", -5.5)])
    told = RolesFile({AIR: "Inlet temp"})
    statement = written(run, made, change={"Inlet temp": frozen(25.0)}, told=told)
    degrees = {c.correction: c.degrees for c in statement.causes if not c.expected}
    assert degrees.keys() == {"charge-air", "lever"}
    assert degrees["lever"] == pytest.approx(-5.5)
    assert degrees["charge-air"] < 0
    assert "may have taken" in " ".join(c.says for c in statement.causes)


def test_a_switch_beside_coolant_that_truly_stands_is_still_read_out() -> None:
    """What steps with a lever is nothing that a temperature does."""
    run = with_lever(climb())
    run = run.carry("Water", np.full(run.times.shape, 60.0))
    run = run.post("warm-up", np.full(run.times.shape, 1.0))
    run = run.post("hidden", np.where(run.extra["Lever"] > 0.5, 2.0, 0.0))
    told = RolesFile({COOLANT: "Water"})
    statement = written(run, sheet("rev-d.toml", "D", [WARM_UP]), told=told)
    (rule,) = [c for c in statement.causes if c.kind == "hidden rule"]
    assert rule.degrees == pytest.approx(2.0, abs=0.1)
    assert statement.needs == ()


def test_a_suspicion_is_never_said_to_have_done_what_its_table_cannot() -> None:
    """A rule for what nobody lists may not post where it would leave more to the suspicion."""
    run = with_lever(climb(), (climb().times % 20.0) < 7.0)
    run = run.post("charge-air", along(run, AIR, (20, 40, 60, 80), HOT))
    run = run.post("hidden", np.where(run.extra["Lever"] > 0.5, -6.0, 0.0))
    run = run.carry("Exhaust", np.round(600.0 + 60.0 * np.sin(run.times / 9.0)))
    told = RolesFile({AIR: "Inlet temp"})
    made = sheet("rev-d.toml", "D", [charge_air(HOT)])
    statement = written(run, made, change={"Inlet temp": frozen(25.0)}, told=told)
    suspects = [c for c in statement.causes if c.correction == "charge-air"]
    assert all(c.degrees < 0 and "added" not in c.says for c in suspects)
    assert not any(c.degrees > 0.5 for c in statement.causes if not c.expected)
