"""A log without any sheet."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.explain.told import first, kinds, told
from tests.runs import climb, governor
from tuneledger.main_job import reconcile_files


def test_a_log_in_which_delivered_follows_scheduled_agrees() -> None:
    statement = told(climb())
    assert statement.verdict == "agrees"
    assert statement.running is None


def test_the_idle_governor_is_recognised_without_a_sheet() -> None:
    statement = told(climb().post("idle-governor", governor(climb())))
    assert statement.verdict == "expected"
    assert statement.exit_status == 0
    assert first(statement).expected


def test_work_at_closed_throttle_that_goes_the_wrong_way_is_not_ordinary() -> None:
    statement = told(climb().post("idle-governor", -governor(climb())))
    assert statement.verdict != "expected"


def test_one_amount_at_idle_is_no_governor_however_whole_degrees_round_it() -> None:
    run = climb()
    run = replace(run, scheduled=np.round(run.scheduled))
    slow = run.signals["engine speed"] < run.signals["idle speed target"]
    idle = np.array(run.regime) == "idle"
    statement = told(run.post("x", np.where(idle, np.where(slow, -2.0, -3.0), 0.0)))
    assert not any(cause.expected for cause in statement.causes)
    assert statement.exit_status == 1


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_channel_in_degrees_that_carries_the_difference_is_named(sign: float) -> None:
    run = climb()
    pulled = np.where((run.times > 25) & (run.times < 34), np.round(-3 + np.sin(run.times), 1), 0.0)
    statement = told(run.post("x", pulled).carry("Zq 7", sign * pulled))
    assert first(statement).channel == "Zq 7"
    assert first(statement).rule is not None
    assert first(statement).rule.along is not None  # type: ignore[union-attr]


def test_a_switch_that_takes_degrees_is_a_rule() -> None:
    run = climb()
    on = ((run.times > 24) & (run.times < 27)) | ((run.times > 42) & (run.times < 49))
    run = run.carry("Wet", on.astype(float)).post("x", np.where(on, -4.0, 0.0))
    statement = told(run)
    rule = first(statement).rule
    assert kinds(statement) == ["hidden rule"]
    assert rule is not None
    assert rule.when == ({"channel": "Wet", "is": 1},)
    assert rule.amount_deg == pytest.approx(-4.0)


def test_what_no_channel_tells_stays_unknown_with_its_size_and_time() -> None:
    run = climb()
    rng = np.random.default_rng(4)
    starts = rng.choice(np.arange(180, 700), 12, replace=False)
    odd = np.zeros(run.times.shape)
    for i, row in enumerate(starts):
        odd[row : row + 6] = -2.0 - 0.7 * i
    statement = told(run.post("x", odd))
    assert statement.verdict == "unexplained"
    assert all(c.certainty < 0.8 for c in statement.causes)


def test_a_fixed_advance_left_on_is_a_replacement_and_no_rule_of_any_channel() -> None:
    run = climb()
    on = (run.times > 20) & (run.times < 50)
    statement = told(run.post("x", np.where(on, 15.0 - run.scheduled, 0.0)))
    assert first(statement).kind == "replacement"
    assert "fixed advance of 15.0°" in first(statement).says
    assert "timing-light" in first(statement).next_step or first(statement).raises_under_load


def test_what_a_limit_cuts_is_no_fixed_advance() -> None:
    run = climb()
    statement = told(run.post("x", np.minimum(run.scheduled, 25.0) - run.scheduled))
    assert first(statement).kind != "replacement"


def test_a_governor_is_known_though_it_lags_when_the_throttle_shuts() -> None:
    demo = Path(__file__).parents[2] / "demo" / "climb.csv"
    statement = reconcile_files([demo], memory=False)
    idle = [cause for cause in statement.causes if cause.expected]
    assert len(idle) == 1
    assert "idle governor" in idle[0].says
    assert all(e.expected for e in statement.episodes if e.regime == "idle")
