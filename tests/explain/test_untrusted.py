"""What rests on a sensor that is dead, stuck or at its end is open: it finds no ECU at fault."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from tests.explain.labelled import written
from tests.explain.parts import drive, during
from tests.runs import MAP, PRESSURES, SPEEDS, Run, along, charge_air, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.explain.model import SURE
from tuneledger.roles import RolesFile
from tuneledger.statement.model import Statement

DEG = (0.0, -1.0, -4.0, -7.0)
HOT = charge_air(DEG)
PRESSURE = "Boost abs"


def slow_pull(**more: Any) -> dict[str, Any]:
    """A guard that takes 3° from a slow car at full throttle."""
    return {
        "id": "slow-pull",
        "title": "Slow pull",
        "amount": -3.0,
        "when": [
            {"signal": "vehicle speed", "unit": "km/h", "below": 60.0},
            {"signal": "throttle position", "unit": "%", "above": 50.0},
        ],
        **more,
    }


def on_the_road() -> Run:
    """The climb with road speed and gear, and the guard at work."""
    run = climb()
    road = np.round(np.interp(run.times, [0, 8, 22, 36, 45, 52, 60], [0, 0, 70, 120, 90, 40, 0]), 1)
    gear = np.interp(run.times, [0, 8, 8.1, 19, 19.1, 28, 28.1, 60], [0, 0, 1, 1, 2, 2, 3, 3])
    signals = {**run.signals, "vehicle speed": road, "gear": np.round(gear)}
    run = replace(run, signals=signals)
    acts = (road < 60.0) & (run.signals["throttle position"] > 50.0)
    return run.post("slow-pull", np.where(acts, -3.0, 0.0))


def dead(values: FloatArray) -> FloatArray:
    return np.zeros_like(values)


def sure_of(statement: Statement) -> set[str | None]:
    return {c.correction for c in statement.causes if c.certainty >= SURE and not c.expected}


def needs(statement: Statement) -> list[str]:
    return [need.what for need in statement.needs]


def test_a_dead_road_speed_makes_a_suspicion_and_no_silence() -> None:
    sheets = sheet("rev-d.toml", "D", [slow_pull(), HOT])
    alive = written(on_the_road(), sheet("rev-d.toml", "D", [slow_pull()]))
    assert sure_of(alive) == {"slow-pull"}
    run = on_the_road()
    run = run.post("charge-air", along(run, "intake air temperature", (20, 40, 60, 80), DEG))
    statement = written(run, sheets, change={"Road": dead})
    assert (statement.verdict, statement.exit_status) == ("cannot tell", 3)
    assert needs(statement)[0] == "vehicle speed"
    assert sure_of(statement) == {"charge-air"}
    (suspect,) = [c for c in statement.causes if c.correction == "slow-pull"]
    assert suspect.degrees == pytest.approx(-3.0, abs=0.3)
    assert "Road never changes (0 km/h) in a drive of 60 s" in statement.notes[0]
    assert not any(c.kind == "hidden rule" for c in statement.causes)


def test_a_dead_sensor_that_the_ecu_reads_too_is_believed() -> None:
    """The sheet comes out with the number that the channel shows."""
    run = on_the_road()
    run = replace(run, entries=())
    pulls = run.signals["throttle position"] > 50.0
    run = run.post("slow-pull", np.where(pulls, -3.0, 0.0))
    statement = written(run, sheet("rev-d.toml", "D", [slow_pull()]), change={"Road": dead})
    assert statement.verdict == "explained"
    assert sure_of(statement) == {"slow-pull"}
    assert any("is not to be trusted" in note for note in statement.notes)


def test_intake_air_that_stops_on_the_way_says_nothing_from_then_on() -> None:
    run = climb()
    air = np.round(run.signals["intake air temperature"] * 2.0) / 2.0
    run = replace(run, signals={**run.signals, "intake air temperature": air})
    run = run.post("charge-air", along(run, "intake air temperature", (20, 40, 60, 80), DEG))

    def stops(values: FloatArray) -> FloatArray:
        return np.where(run.times < 22.0, values, values[run.times.searchsorted(22.0)])

    told = RolesFile({"intake air temperature": "Inlet temp"})
    statement = written(
        run, sheet("rev-d.toml", "D", [HOT]), change={"Inlet temp": stops}, told=told
    )
    assert statement.verdict == "cannot tell"
    assert needs(statement) == ["intake air temperature"]
    assert "Inlet temp stops at 22 s" in statement.notes[0]
    assert not any(c.kind == "hidden rule" for c in statement.causes)


def test_intake_air_that_stops_and_then_leaps_is_joined_across_and_no_rule_of_the_ecu() -> None:
    run = climb()
    posted = along(run, "intake air temperature", (20, 40, 60, 80), DEG)
    stuck = (run.times > 15.0) & (run.times < 40.0)
    statement = written(
        run.post("charge-air", posted),
        sheet("rev-d.toml", "D", [HOT]),
        change={"Inlet temp": lambda values: np.where(stuck, values[stuck][0], values)},
    )
    assert {cause.correction for cause in statement.causes} == {"charge-air"}
    assert not any(cause.kind == "hidden rule" for cause in statement.causes)
    assert any("stops at 15 s and stands still until 40 s" in note for note in statement.notes)
    assert "intake air temperature" in needs(statement)


def boosted(high_kpa: float) -> Run:
    """A pull after a pull, with a pressure that swings about `high_kpa` while the throttle is open.

    The map of the climb, and so what is asked for, follows it beyond where a sensor may end.
    """
    t = np.arange(0.0, 60.0, 0.05)
    speed = 3500.0 + 2200.0 * np.sin(t / 3.0)
    plate = np.where((t % 15.0) < 10.0, 92.0, 8.0)
    swing = 0.5 * high_kpa + 0.5 * high_kpa * np.sin(t / 2.1)
    pressure = np.round(np.clip(swing, 42.0, None), 1)
    return drive(speed, plate, pressure)


def clipped(at_kpa: float) -> dict[str, Any]:
    return {PRESSURE: lambda values: np.minimum(values, at_kpa)}


def test_a_pressure_sensor_at_its_end_is_no_other_map() -> None:
    run = boosted(190.0)
    whole = written(run, sheet("rev-d.toml", "D"))
    assert whole.verdict == "agrees"
    statement = written(run, sheet("rev-d.toml", "D"), change=clipped(140.0))
    assert [c.kind for c in statement.causes] == []
    assert statement.verdict == "agrees"
    assert statement.notes[0].startswith("Boost abs stands at 140 kPa, its highest, for ")
    assert needs(statement) == ["manifold absolute pressure"]


@pytest.mark.parametrize("logged", [True, False])
def test_beside_a_sensor_at_its_end_other_causes_are_still_found(logged: bool) -> None:
    run = boosted(190.0)
    run = run.post("lever", np.where(during(run, 20.0, 34.0), -3.0, 0.0))
    run = run.carry("Lever", during(run, 20.0, 34.0).astype(float))
    lever = {"id": "lever", "amount": -3.0, "when": [{"channel": "Lever", "is": "on"}]}
    change = clipped(140.0)
    if not logged:
        change["Adv asked"] = lambda values: np.full_like(values, np.nan)
    statement = written(run, sheet("rev-d.toml", "D", [lever]), change=change)
    assert sure_of(statement) == {"lever"}
    assert not any(c.kind in ("other map", "hidden rule") for c in statement.causes)
    said = "Boost abs is not to be trusted then" in statement.headline
    assert said == (not logged)


def test_a_guard_short_of_the_end_is_known_to_act_there() -> None:
    """Above 130 kPa is above 130 kPa, whatever it was beyond 140: silence is silence."""
    run = boosted(190.0)
    guard = {
        "id": "boost-guard",
        "reason": "boost",
        "amount": -4.0,
        "when": [{"signal": "manifold absolute pressure", "unit": "kPa", "above": 130.0}],
    }
    statement = written(run, sheet("rev-d.toml", "D", [guard]), change=clipped(140.0))
    assert sure_of(statement) == {"boost-guard"}
    beyond = {**guard, "when": [{**guard["when"][0], "above": 160.0}]}
    statement = written(run, sheet("rev-d.toml", "D", [beyond]), change=clipped(140.0))
    assert "boost-guard" not in sure_of(statement)


def test_another_map_is_found_where_the_pressure_only_stays_high() -> None:
    """A pressure that settles lingers short of its highest: it is no sensor's end."""
    run = boosted(190.0)
    settled = np.round(150.0 * (1.0 - np.exp(-(run.times % 15.0) / 1.5)) + 40.0, 1)
    other = np.array(MAP) + np.where(np.array(PRESSURES)[:, None] > 120.0, -4.0, 0.0)
    surface = RegularGridInterpolator((PRESSURES, SPEEDS), other)
    speed = run.signals["engine speed"]
    points = np.column_stack([np.clip(settled, 40, 200), np.clip(speed, 900, 7000)])
    run = replace(
        run,
        signals={**run.signals, "manifold absolute pressure": settled},
        scheduled=np.round(surface(points), 1),
    )
    statement = written(run, sheet("rev-d.toml", "D"))
    assert "other map" in [c.kind for c in statement.causes]
    assert not any("its highest" in note for note in statement.notes)
