"""A scheduled advance that is logged after some of the corrections, and a sheet that is silent."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import AIR, AT, DEG, LEVER, pulling, with_lever, with_spark
from tests.explain.told import first, kinds, told
from tests.runs import MAP, Run, along, charge_air, climb, sheet
from tuneledger.arrays import FloatArray
from tuneledger.explain.model import SURE
from tuneledger.statement.model import Statement

RUN = climb()
HOT = along(RUN, AIR, AT, DEG)
TRIM = {"id": "trim", "amount": -3.0}
IDLING = {"id": "closed", "amount": 2.0, "when": [{"signal": "throttle position", "below": 20.0}]}
CLOSED = np.where(RUN.signals["throttle position"] < 20.0, 2.0, 0.0)


def containing(run: Run, *posted: FloatArray) -> Run:
    """The run with scheduled logged after these corrections."""
    return replace(run, scheduled=np.round(run.scheduled + np.sum(posted, axis=0), 1))


def notes(statement: Statement) -> str:
    return " ".join(statement.notes)


def test_what_scheduled_contains_is_neither_another_map_nor_a_silent_protection() -> None:
    statement = told(containing(RUN, HOT), sheet("rev-d.toml", "D", [charge_air(DEG)]))
    assert statement.causes == ()
    assert statement.verdict == "agrees"
    assert statement.running is not None
    assert statement.running.best == "D"
    assert 'add scheduled_includes = ["charge-air"]' in notes(statement)


def test_two_corrections_may_be_contained() -> None:
    d = sheet("rev-d.toml", "D", [charge_air(DEG), IDLING])
    statement = told(containing(RUN, HOT, CLOSED), d)
    assert statement.verdict == "agrees"
    assert "'charge-air' and 'closed'" in notes(statement)


def test_a_map_that_cannot_be_read_says_nothing_of_what_scheduled_contains() -> None:
    plain = sheet("rev-d.toml", "D", [charge_air(DEG)])
    axes = [
        axis.model_copy(update={"signal": "engine load"})
        for axis in plain.calibration.spark.map.axes
    ]
    table = plain.calibration.spark.map.model_copy(update={"axes": tuple(axes)})
    statement = told(containing(RUN, HOT), with_spark(plain, map=table))
    assert "already contain" not in notes(statement)


def test_one_number_above_a_threshold_is_no_block_of_changed_cells() -> None:
    """A blend of one number above 1500 rpm: changed cells would say nearly as much, but then the
    correction would have stayed silent as well."""
    fast = np.where(RUN.signals["engine speed"] > 1500.0, 2.8, 0.0)
    above = [{"signal": "engine speed", "unit": "rpm", "above": 1500.0}]
    blend = {"id": "blend", "title": "Fuel blend", "amount": 2.8, "when": above}
    statement = told(containing(RUN, fast), sheet("rev-d.toml", "D", [blend]))
    assert statement.causes == ()
    assert statement.verdict == "agrees"
    assert statement.headline.startswith("Adv asked already contains Fuel blend")
    assert 'scheduled_includes = ["blend"]' in statement.notes[0]


def test_what_acts_beside_it_is_found_as_ever() -> None:
    run = with_lever(containing(RUN, HOT)).post("x", pulling(RUN, -4.0))
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(DEG)]))
    assert kinds(statement) == ["hidden rule"]
    assert first(statement).rule is not None
    assert first(statement).rule.when[0]["channel"] == LEVER  # type: ignore[union-attr]


def test_a_correction_that_acts_once_more_is_not_only_contained() -> None:
    run = containing(RUN, HOT).post("charge-air", HOT)
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(DEG)]))
    assert "already contain" not in notes(statement)
    assert "other map" in kinds(statement)


def test_another_map_stays_another_map() -> None:
    moved = [MAP[0], MAP[1], MAP[2], tuple(x - 3.0 for x in MAP[3]), MAP[4]]
    d = sheet("rev-d.toml", "D", [charge_air(DEG)])
    grid = d.calibration.spark.map.model_copy(update={"values": tuple(moved)})
    run = RUN.post("charge-air", HOT)
    statement = told(run, with_spark(d, map=grid))
    assert "other map" in kinds(statement)
    assert "contain" not in notes(statement)


@pytest.mark.parametrize("amount", [-3.0, 2.0])
def test_what_a_map_could_hold_as_well_is_left_open(amount: float) -> None:
    """A trim that acts all the time looks like a map that was moved as a whole."""
    run = containing(RUN, np.full_like(RUN.times, amount))
    statement = told(run, sheet("rev-d.toml", "D", [{**TRIM, "amount": amount}]))
    assert all(cause.certainty < SURE for cause in statement.causes)
    assert "may already contain 'trim'" in notes(statement)


def test_a_supplied_map_that_fits_is_preferred() -> None:
    moved = [tuple(x - 3.0 for x in row) for row in MAP]
    e = sheet("rev-e.toml", "E")
    grid = e.calibration.spark.map.model_copy(update={"values": tuple(moved)})
    run = containing(RUN, np.full_like(RUN.times, -3.0))
    statement = told(run, sheet("rev-d.toml", "D", [TRIM]), with_spark(e, map=grid))
    assert "contain" not in notes(statement)
    assert statement.running is not None
    assert statement.running.best == "E"
