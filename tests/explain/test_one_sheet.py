"""What one sheet explains, and what it does not."""

from pathlib import Path

import numpy as np
import pytest

from tests.explain.parts import closed_below, governing
from tests.explain.told import first, kinds, told
from tests.runs import along, charge_air, climb, governor, sheet
from tuneledger.car.big import write_big
from tuneledger.explain.expected import ORDINARY_IDLE
from tuneledger.main_job import reconcile_files

AIR = "intake air temperature"
AT = (20.0, 40.0, 60.0, 80.0)
DEG = (0.0, 0.0, -3.0, -6.0)
IDLE = governing(
    (-110.0, 0.0, 110.0),
    closed_below(2.0),
    {"signal": "engine speed", "unit": "rpm", "below": 1150.0},
    title="Idle governor",
)


def test_a_run_that_follows_its_map_agrees() -> None:
    statement = told(climb(), sheet("rev-d.toml", "D"))
    assert statement.verdict == "agrees"
    assert statement.exit_status == 0
    assert statement.causes == ()
    assert statement.running is not None
    assert statement.running.best == "D"
    assert statement.running.matches_supplied


def test_a_correction_of_the_sheet_is_the_cause_with_its_degrees_and_seconds() -> None:
    run = climb().post("charge-air", along(climb(), AIR, AT, DEG))
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(DEG)]))
    taken = along(run, AIR, AT, DEG)
    acting = np.abs(taken) > 0.3
    assert statement.verdict == "explained"
    assert statement.exit_status == 1
    assert kinds(statement) == ["correction"]
    assert first(statement).correction == "charge-air"
    assert first(statement).degrees == pytest.approx(taken[acting].mean(), abs=0.1)
    assert first(statement).seconds == pytest.approx(acting.sum() / 20.0, abs=1.0)
    assert first(statement).certainty >= 0.9


def test_the_ledger_balances_where_the_sheet_explains_all() -> None:
    run = climb().post("charge-air", along(climb(), AIR, AT, DEG))
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(DEG)]))
    ledger = statement.logs[0].ledger
    assert ledger is not None
    assert np.nanmax(np.abs(ledger.unaccounted)) <= ledger.tolerance


def test_the_governor_at_idle_is_expected() -> None:
    run = climb().post("idle-governor", governor(climb()))
    statement = told(run, sheet("rev-d.toml", "D", [IDLE]))
    assert statement.verdict == "expected"
    assert statement.exit_status == 0
    assert first(statement).expected
    assert ORDINARY_IDLE in first(statement).says


def test_a_correction_that_the_owner_wants_is_expected_for_his_reason() -> None:
    wanted = {**charge_air(DEG), "expected": "hot days on the hill"}
    run = climb().post("charge-air", along(climb(), AIR, AT, DEG))
    statement = told(run, sheet("rev-d.toml", "D", [wanted]))
    assert statement.verdict == "expected"
    assert "hot days on the hill" in first(statement).says


def test_advance_above_schedule_under_load_comes_first_and_never_ends_well() -> None:
    adds = (0.0, 0.0, 1.0, 2.0)
    wanted = {**charge_air(adds), "expected": "the owner says so"}
    run = climb().post("charge-air", along(climb(), AIR, AT, adds))
    run = run.post("idle-governor", governor(run))
    statement = told(run, sheet("rev-d.toml", "D", [wanted, IDLE]))
    assert statement.verdict == "expected"
    assert statement.exit_status == 1
    assert first(statement).correction == "charge-air"
    assert statement.headline.startswith("Stop")
    assert "No load" in first(statement).next_step


def test_a_correction_that_is_switched_off_and_did_not_act_is_not_named() -> None:
    off = {**charge_air(DEG), "enabled": False}
    assert told(climb(), sheet("rev-d.toml", "D", [off])).causes == ()


def test_limits_take_what_exceeds_them() -> None:
    run = climb()
    cut = np.minimum(run.scheduled, 25.0) - run.scheduled
    limited = sheet("rev-d.toml", "D")
    spark = limited.calibration.spark
    narrow = spark.model_copy(
        update={"limits": spark.limits.model_copy(update={"highest": 25.0})}  # type: ignore[union-attr]
    )
    limited = type(limited)("d.toml", limited.calibration.model_copy(update={"spark": narrow}))
    statement = told(run.post("limit", cut), limited)
    assert kinds(statement) == ["limit"]
    assert first(statement).correction is None


def test_a_replacement_takes_the_place_of_the_map() -> None:
    run = climb()
    fast = run.signals["engine speed"] > 6000
    cut = {
        "id": "soft-limit",
        "reason": "rev limit",
        "effect": "replace",
        "amount": 4.0,
        "when": [{"signal": "engine speed", "unit": "rpm", "above": 6000.0}],
    }
    run = run.post("soft-limit", np.where(fast, 4.0 - run.scheduled, 0.0))
    statement = told(run, sheet("rev-d.toml", "D", [cut]))
    assert kinds(statement) == ["replacement"]


def test_a_correction_whose_channel_is_not_logged_is_suspected_and_asked_for() -> None:
    guard = {
        "id": "oil-guard",
        "title": "Oil guard",
        "reason": "sensor guard",
        "amount": -5.0,
        "when": [{"channel": "Oil gallery", "below": 200.0}],
    }
    run = climb()
    low = (run.times > 25) & (run.times < 30)
    statement = told(run.post("x", np.where(low, -5.0, 0.0)), sheet("d.toml", "D", [guard]))
    assert statement.verdict == "cannot tell"
    assert statement.exit_status == 3
    assert first(statement).correction == "oil-guard"
    assert first(statement).certainty < 0.8
    assert [need.what for need in statement.needs] == ["Oil gallery"]


def test_a_missing_channel_is_not_asked_for_where_nothing_happened() -> None:
    guard = {"id": "g", "amount": -5.0, "when": [{"channel": "Oil gallery", "below": 200.0}]}
    statement = told(climb(), sheet("d.toml", "D", [guard]))
    assert statement.verdict == "agrees"
    assert statement.needs == ()


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_channel_that_carries_the_correction_is_named_in_either_sign(sign: float) -> None:
    run = climb()
    pulled = np.where((run.times > 25) & (run.times < 34), np.round(-3 + np.sin(run.times), 1), 0.0)
    knock = {"id": "knock", "reason": "knock", "logged_as": "Ping pull", "range": (-8.0, 0.0)}
    run = run.post("knock", pulled).carry("Ping pull", sign * pulled)
    statement = told(run, sheet("d.toml", "D", [knock]))
    assert statement.verdict == "explained"
    assert first(statement).correction == "knock"
    assert first(statement).channel == "Ping pull"
    assert first(statement).degrees < 0


def test_without_delivered_nothing_can_be_told() -> None:
    statement = told(climb(), sheet("d.toml", "D"), delivered=False)
    assert statement.verdict == "cannot tell"
    assert statement.exit_status == 3
    assert [need.what for need in statement.needs] == ["delivered advance"]


def test_without_scheduled_the_first_sheets_map_stands_in() -> None:
    run = climb().post("charge-air", along(climb(), AIR, AT, DEG))
    statement = told(run, sheet("d.toml", "D", [charge_air(DEG)]), logged=False)
    assert statement.verdict == "explained"
    assert first(statement).correction == "charge-air"


def test_without_scheduled_and_without_a_sheet_scheduled_is_asked_for() -> None:
    statement = told(climb(), logged=False)
    assert statement.verdict == "cannot tell"
    assert [need.what for need in statement.needs] == ["scheduled advance"]


def test_a_throttle_that_rounding_leaves_at_its_threshold_switches_as_delivered_shows(
    tmp_path: Path,
) -> None:
    statement = reconcile_files(write_big(tmp_path, samples=4000, channels=30), memory=False)
    assert statement.verdict == "explained"
    assert [c.kind for c in statement.causes] == ["correction"] * 3
