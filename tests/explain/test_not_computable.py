"""Corrections that read what was not logged: suspected, asked for, and never sure."""

import numpy as np
import pytest

from tests.explain.parts import during, with_lever, with_spark
from tests.explain.told import first, told
from tests.runs import charge_air, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.statement.model import SuppliedSheet

RUN = climb()
EARLY = during(RUN, 12.0, 14.0)
LAUNCH = {
    "id": "launch",
    "reason": "launch",
    "effect": "replace",
    "amount": 5.0,
    "when": [{"channel": "Clutch pin", "is": "on"}],
}
CAP = {
    "id": "fuel-cap",
    "reason": "fuel",
    "effect": "at most",
    "amount": 8.0,
    "when": [{"channel": "Rail", "below": 200.0}],
}
FLOOR = {**CAP, "id": "floor", "effect": "at least", "amount": 30.0}
UNLOGGED = pytest.mark.parametrize(
    ("correction", "delivered", "what"),
    [
        (LAUNCH, np.full_like(RUN.times, 5.0), "Clutch pin"),
        (CAP, np.minimum(RUN.scheduled, 8.0), "Rail"),
        (FLOOR, np.maximum(RUN.scheduled, 30.0), "Rail"),
    ],
    ids=["replace", "at most", "at least"],
)


def one(correction: dict[str, object]) -> SuppliedSheet:
    return sheet("rev-d.toml", "D", [correction])


@UNLOGGED
def test_what_could_alone_explain_a_stretch_cannot_be_told_and_is_asked_for(
    correction: dict[str, object], delivered: FloatArray, what: str
) -> None:
    run = RUN.post("x", np.where(EARLY, delivered - RUN.scheduled, 0.0))
    statement = told(run, one(correction))
    assert statement.verdict == "cannot tell"
    assert statement.exit_status == 3
    assert first(statement).correction == correction["id"]
    assert first(statement).certainty < 0.8
    assert [need.what for need in statement.needs] == [what]


@pytest.mark.parametrize("correction", [LAUNCH, CAP], ids=["replace", "at most"])
def test_what_could_not_have_made_the_stretch_is_not_asked_for(
    correction: dict[str, object],
) -> None:
    run = with_lever(RUN, EARLY).post("x", np.where(EARLY, -3.0, 0.0))
    statement = told(run, one(correction))
    assert statement.needs == ()
    assert all(cause.correction != correction["id"] for cause in statement.causes)


@UNLOGGED
def test_what_was_not_logged_is_not_asked_for_where_nothing_happened(
    correction: dict[str, object], delivered: FloatArray, what: str
) -> None:
    statement = told(RUN, one(correction))
    assert statement.verdict == "agrees"
    assert statement.needs == ()


def test_a_floor_that_may_have_raised_under_load_is_said_first() -> None:
    lifted = np.maximum(RUN.scheduled, 30.0) - RUN.scheduled
    statement = told(RUN.post("x", np.where(EARLY, lifted, 0.0)), one(FLOOR))
    assert statement.headline.startswith("Stop")


def test_a_cell_that_nobody_knows_asks_for_no_channel() -> None:
    hot = np.where(RUN.signals["intake air temperature"] > 42.0, -3.0, 0.0)
    run = with_lever(RUN, hot < 0).post("charge-air", hot)
    statement = told(run, one(charge_air((0.0, 0.0, "?", -6.0))))  # type: ignore[arg-type]
    assert statement.needs == ()
    assert statement.verdict != "agrees"


def test_a_cell_that_nobody_knows_asks_for_nothing_where_nothing_happened() -> None:
    statement = told(RUN, one(charge_air((0.0, 0.0, "?", -6.0))))  # type: ignore[arg-type]
    assert statement.needs == ()


@pytest.mark.parametrize("pulled", [0.0, -4.0])
def test_a_map_that_cannot_be_computed_here_is_not_the_running_one(pulled: float) -> None:
    other = sheet("rev-e.toml", "E")
    axes = list(other.calibration.spark.map.axes)
    axes[0] = axes[0].model_copy(update={"signal": None, "channel": "Air mass"})
    grid = other.calibration.spark.map.model_copy(update={"axes": tuple(axes)})
    run = climb().post("x", np.where(during(climb(), 25.0, 30.0), pulled, 0.0))
    blind = with_spark(other, map=grid)
    statement = told(run, sheet("rev-d.toml", "D"), blind, logged=False)
    assert statement.running is not None
    assert statement.running.best == (None if pulled else "D")


ALTITUDE = {
    "id": "altitude",
    "reason": "altitude",
    "axes": [{"signal": "barometric pressure", "unit": "kPa", "at": (70.0, 85.0, 100.0)}],
    "values": (3.0, 1.5, 0.0),
}
FUEL = {
    "id": "fuel-heat",
    "reason": "fuel",
    "axes": [{"signal": "fuel temperature", "unit": "degC", "at": (20.0, 40.0, 60.0)}],
    "values": (0.0, -2.0, -4.0),
}


@pytest.mark.parametrize(
    ("correction", "degrees"), [(ALTITUDE, 1.8), (FUEL, -2.0)], ids=["altitude", "fuel"]
)
def test_a_rule_without_an_edge_takes_no_suspects_place(
    correction: dict[str, object], degrees: float
) -> None:
    run = RUN.post("x", np.full_like(RUN.times, degrees))
    statement = told(run, one(correction))
    assert statement.verdict == "cannot tell"
    assert first(statement).correction == correction["id"]
    assert first(statement).certainty < 0.8
    assert len(statement.needs) == 1


def test_what_acts_throughout_beyond_the_suspect_is_a_rule_all_the_same() -> None:
    statement = told(RUN.post("x", np.full_like(RUN.times, -5.0)), one(ALTITUDE))
    assert first(statement).kind == "hidden rule"
    assert statement.needs == ()


def test_two_that_may_have_done_it_are_both_named() -> None:
    guards = [
        {"id": f"{what}-guard", "amount": -5.0, "when": [{"channel": f"{what} rail", "below": 200}]}
        for what in ("Fuel", "Oil")
    ]
    run = RUN.post("x", np.where(EARLY, -5.0, 0.0))
    statement = told(run, sheet("rev-d.toml", "D", guards))
    assert "Fuel-guard" in statement.headline
    assert "Oil-guard may have done it as well" in statement.headline
    assert "Log Fuel rail and Oil rail" in statement.headline
    assert statement.running is not None
    assert statement.running.certainty == pytest.approx(0.7)


def test_a_protection_that_stayed_silent_is_said_beside_what_cannot_be_told() -> None:
    late = during(RUN, 54.0, 56.0)
    run = RUN.post("x", np.where(late, -5.0, 0.0))
    guard = {"id": "rail", "amount": -5.0, "when": [{"channel": "Rail", "below": 200}]}
    d = sheet("rev-d.toml", "D", [charge_air((0.0, 0.0, -3.0, -6.0)), guard])
    headline = told(run, d).headline
    assert "Log Rail" in headline
    assert "but the ECU did not. A protection stayed silent" in headline
