"""A highest, lowest or fixed advance that no sheet lists: delivered stands while asked moves."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import during, with_lever, with_spark
from tests.explain.told import first, told
from tests.runs import Run, climb, sheet
from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Limits
from tuneledger.explain.model import SURE, Hold
from tuneledger.statement import words

RUN = climb(120.0)
D = sheet("rev-d.toml", "D", [])
LEVER = during(RUN, 10.0, 22.0) | during(RUN, 46.0, 70.0) | during(RUN, 84.0, 98.0)


def limited(run: Run, low: float, high: float, rows: BoolArray | None = None) -> Run:
    """The run with what stands there held between two numbers, in the rows given or throughout."""
    stands: FloatArray = run.scheduled + sum(e.values for e in run.entries)
    cut = np.clip(stands, low, high) - stands
    return run.post("x", np.where(True if rows is None else rows, cut, 0.0))


@pytest.mark.parametrize(
    ("highest", "with_sheet"), [(19.0, False), (22.5, True), (26.0, True), (29.0, False)]
)
def test_a_hidden_highest_advance_is_a_limit_and_no_other_map(
    highest: float, with_sheet: bool
) -> None:
    statement = told(limited(RUN, -90.0, highest), *([D] if with_sheet else []))
    (cause,) = statement.causes
    assert (cause.kind, cause.entry) == ("limit", "limit")
    assert cause.rule is not None
    assert cause.rule.hold == Hold("at most", highest)
    assert cause.certainty >= SURE
    assert statement.verdict == "explained"
    assert f"highest advance of {highest:.1f}°" in statement.headline


def test_it_says_for_how_long_it_stands_and_how_far_asked_went_beyond() -> None:
    points = [p.says for p in first(told(limited(RUN, -90.0, 26.0), D)).evidence]
    assert any("delivered stands at 26.0° (give or take 0.0" in says for says in points)
    assert any("delivered follows" in says for says in points)


def test_a_hidden_lowest_advance_that_adds_under_load_stops_the_driver() -> None:
    statement = told(limited(RUN, 20.0, 90.0), D)
    cause = first(statement)
    assert cause.kind == "limit"
    assert cause.raises_under_load
    assert "a lowest advance of 20.0°" in statement.headline
    assert statement.headline.startswith("Stop:")


@pytest.mark.parametrize("listed", [22.0, 33.0])
def test_a_limit_at_another_number_than_the_sheets_names_both(listed: float) -> None:
    own = with_spark(D, limits=Limits(lowest=-10.0, highest=listed))
    statement = told(limited(RUN, -90.0, 26.0), own)
    assert f"a highest advance of 26.0°, not {listed:.1f}° as revision D has it" in (
        first(statement).says.replace("A h", "a h")
    )
    assert all(abs(e.unaccounted_deg) < 0.3 for e in statement.episodes)


def test_both_limits_at_once_are_two_causes() -> None:
    statement = told(limited(RUN, 17.0, 28.0), D)
    held = {c.rule.hold for c in statement.causes if c.rule is not None}
    assert held == {Hold("at least", 17.0), Hold("at most", 28.0)}


def test_the_sheets_own_limit_stays_the_sheets() -> None:
    own = with_spark(D, limits=Limits(lowest=-10.0, highest=26.0))
    (cause,) = told(limited(RUN, -90.0, 26.0), own).causes
    assert cause.revision == "D"
    assert cause.rule is None


def test_a_cap_under_a_switch_follows_below_it_and_is_no_fixed_advance() -> None:
    run = with_lever(limited(RUN, -90.0, 16.0, LEVER), LEVER)
    cause = first(told(run, D))
    assert cause.kind == "limit"
    assert cause.rule is not None
    assert cause.rule.hold == Hold("at most", 16.0)
    assert [dict(one) for one in cause.rule.when] == [{"channel": "Lever", "is": 1}]
    assert "while Lever is 1" in cause.says


@pytest.mark.parametrize("number", [4.0, 21.0, 30.0])
def test_a_fixed_advance_under_a_switch_is_a_replacement(number: float) -> None:
    run = with_lever(limited(RUN, number, number, LEVER), LEVER)
    statement = told(run, D)
    cause = first(statement)
    assert cause.kind == "replacement"
    assert cause.rule is not None
    assert cause.rule.hold == Hold("replace", number)
    assert words.rule(cause.rule, {}) == f"held at {number:.1f}° while Lever is 1"
    assert cause.certainty >= SURE


def test_where_asked_never_comes_within_the_log_cannot_tell_a_cap_from_a_fixed_advance() -> None:
    run = with_lever(limited(RUN, 4.0, 4.0, LEVER), LEVER)
    cause = first(told(run, D))
    assert any(p.speaks == "against" and "look the same" in p.says for p in cause.evidence)


def test_a_fixed_advance_takes_the_place_of_all_that_acts() -> None:
    switch = {"id": "wet", "amount": -3.0, "when": [{"channel": "Wet", "is": "on"}]}
    wet = during(RUN, 30.0, 60.0)
    wetted = RUN.carry("Wet", wet.astype(float)).post("wet", np.where(wet, -3.0, 0.0))
    run = with_lever(limited(wetted, 12.0, 12.0, LEVER), LEVER)
    statement = told(run, sheet("rev-d.toml", "D", [switch]))
    assert {c.kind for c in statement.causes} == {"replacement", "correction"}
    ledger = statement.logs[0].ledger
    assert ledger is not None
    (entry,) = [e for e in ledger.entries if e.correction == "wet"]
    assert not np.any(entry.values[LEVER & (np.abs(RUN.scheduled - 12.0) > 1.0)])


def test_the_rule_of_a_limit_says_on_another_log_what_it_takes_there() -> None:
    rule = first(told(limited(RUN, -90.0, 26.0), D)).rule
    assert rule is not None
    assert rule.along is not None
    assert rule.along.channel == "Adv asked"
    asked = np.array([10.0, 26.0, 31.0, 44.0])
    assert np.interp(asked, rule.along.at, rule.along.deg).tolist() == [0.0, 0.0, -5.0, -18.0]


def test_what_acts_beside_a_hidden_limit_is_found_as_well() -> None:
    pulled = RUN.post("y", np.where(LEVER, -4.0, 0.0))
    run = with_lever(limited(pulled, -90.0, 26.0), LEVER)
    statement = told(run, D)
    assert {c.kind for c in statement.causes} == {"limit", "hidden rule"}
    (rule,) = [c.rule for c in statement.causes if c.kind == "hidden rule"]
    assert rule is not None
    assert rule.amount_deg == pytest.approx(-4.0, abs=0.1)


def test_a_retard_that_moves_with_what_is_asked_is_no_limit() -> None:
    run = with_lever(RUN.post("x", np.where(LEVER, -5.0, 0.0)), LEVER)
    assert {c.kind for c in told(run, D).causes} == {"hidden rule"}


def test_what_stands_because_nothing_else_was_asked_for_is_no_limit() -> None:
    """A map that is flat there, and a fixed amount taken from it."""
    flat = replace(RUN, scheduled=np.minimum(RUN.scheduled, 24.0))
    run = with_lever(flat.post("x", np.where(LEVER, -5.0, 0.0)), LEVER)
    assert {c.kind for c in told(run).causes} == {"hidden rule"}


def test_an_amount_beside_which_delivered_stands_says_at_which_number() -> None:
    """A launch: scheduled hardly moves in it, and the rule is said with where delivered is."""
    launch = during(RUN, 46.0, 50.0)
    run = replace(RUN, scheduled=np.where(launch, 18.0, RUN.scheduled))
    run = with_lever(run.post("x", np.where(launch, -23.0, 0.0)), launch)
    assert "delivered stands at −5.0° then" in first(told(run)).says


def test_a_limit_that_takes_little_for_a_moment_is_a_limit_all_the_same() -> None:
    highest = float(RUN.scheduled.max()) - 1.5
    (cause,) = told(limited(RUN, -90.0, highest), D).causes
    assert cause.rule is not None
    assert cause.rule.hold == Hold("at most", pytest.approx(highest))
