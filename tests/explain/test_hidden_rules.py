"""Rules that nobody wrote down, read out of one log: what they are, and what they might be.

The true rule is written beside each drive and carried out by hand here, so that nothing of the
search is used to check it.
"""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import drive
from tests.explain.told import first, kinds, told
from tests.runs import Run, climb
from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.model import Cause, Rule
from tuneledger.explain.rulewords import rule_in_words
from tuneledger.statement.model import Statement

ROWS_S = 0.05


def stabs() -> Run:
    """A minute of stabs at the throttle, each to another height, at another rate and for another
    time, with an engine speed that goes its own way."""
    t = np.arange(0.0, 60.0, ROWS_S)
    plate = np.interp(
        t,
        [0, 4, 5, 9, 9.3, 12, 12.5, 13.1, 13.3, 17, 19, 23, 23.2, 27, 27.4, 30, 30.5, 31.2, 31.4,
         36, 37, 43, 43.5, 47, 47.2, 51, 51.5, 56, 56.4, 60],
        [5, 5, 82, 85, 8, 8, 70, 72, 6, 6, 90, 92, 10, 10, 66, 68, 45, 45, 7,
         7, 76, 88, 9, 9, 64, 95, 12, 12, 40, 40],
    )  # fmt: skip
    speed = 3600.0 + 1500.0 * np.sin(0.41 * t) + 500.0 * np.sin(1.3 * t)
    return drive(speed, np.round(plate, 1), np.interp(plate, [0, 100], [40.0, 190.0]))


def turned_on(run: Run, *spans: tuple[float, float]) -> BoolArray:
    return np.any([(run.times >= a) & (run.times < b) for a, b in spans], axis=0)


def for_so_long(state: BoolArray, seconds: float) -> BoolArray:
    """Rows in which a state has been true for at least so many seconds."""
    out, lasted = np.zeros_like(state), 0.0
    for i, on in enumerate(state):
        lasted = lasted + ROWS_S if on else 0.0
        out[i] = lasted > seconds
    return out


def ramped(target: FloatArray, per_s: float) -> FloatArray:
    out = target.copy()
    for i in range(1, out.size):
        out[i] = out[i - 1] + np.clip(target[i] - out[i - 1], -per_s * ROWS_S, per_s * ROWS_S)
    return out


def rules(statement: Statement) -> list[Cause]:
    assert set(kinds(statement)) == {"hidden rule"}, [c.says for c in statement.causes]
    return list(statement.causes)


def test_a_threshold_that_has_to_be_held() -> None:
    run = stabs()
    on = for_so_long(run.signals["throttle position"] > 55.0, 1.0)
    (cause,) = rules(told(run.post("x", np.where(on, -5.0, 0.0))))
    assert cause.rule is not None
    # Boost follows the plate here to the last digit: either may come first.
    either = [rule for rule in (cause.rule, cause.alternatives[0]) if len(rule.when) == 1]
    assert {rule.when[0]["channel"] for rule in either} == {"Plate", "Boost abs"}
    (when,) = next(rule.when for rule in either if rule.when[0]["channel"] == "Plate")
    assert 45.0 < when["above"] < 65.0
    assert when["held"] == pytest.approx(1.0, abs=0.15)
    assert cause.rule.amount_deg == pytest.approx(-5.0)


def test_a_threshold_that_lingers() -> None:
    run = stabs()
    above = run.signals["throttle position"] > 55.0
    on = above | ~for_so_long(~above, 1.5)
    on[: int(5 / ROWS_S)] &= above[: int(5 / ROWS_S)]
    (cause,) = rules(told(run.post("x", np.where(on, -4.0, 0.0))))
    assert cause.rule is not None
    (when,) = cause.rule.when
    assert when["channel"] == "Plate"
    assert when["linger"] == pytest.approx(1.5, abs=0.2)


@pytest.mark.parametrize("per_s", [2.0, 6.0])
def test_degrees_that_come_and_go_at_a_steady_rate(per_s: float) -> None:
    run = stabs()
    on = turned_on(run, (10, 19), (30, 41))
    values = ramped(np.where(on, -5.0, 0.0), per_s)
    (cause,) = rules(told(run.carry("Wet", on.astype(float)).post("x", values)))
    assert cause.rule is not None
    assert cause.rule.when == ({"channel": "Wet", "is": 1},)
    assert isinstance(cause.rule.ramp, dict)
    assert cause.rule.ramp["down"] == pytest.approx(per_s, rel=0.15)
    assert cause.rule.ramp["up"] == pytest.approx(per_s, rel=0.15)
    assert cause.certainty >= 0.8


def test_two_rules_that_overlap_add_up() -> None:
    run = stabs()
    wet = turned_on(run, (3, 18), (33, 47))
    fast = run.signals["engine speed"] > 4100.0
    values = np.where(wet, -3.0, 0.0) + np.where(fast, -4.5, 0.0)
    found = rules(told(run.carry("Wet", wet.astype(float)).post("x", values)))
    by_channel = {c.rule.when[0]["channel"]: c.rule for c in found if c.rule is not None}
    assert set(by_channel) == {"Wet", "Rev"}
    assert by_channel["Wet"].amount_deg == pytest.approx(-3.0, abs=0.1)
    assert by_channel["Rev"].amount_deg == pytest.approx(-4.5, abs=0.1)
    assert by_channel["Rev"].when[0]["above"] == pytest.approx(4100.0, abs=60.0)


def test_a_rule_that_acts_all_the_time_has_no_condition() -> None:
    run = stabs()
    (cause,) = rules(told(run.post("x", np.full(run.times.shape, -3.0))))
    assert cause.rule is not None
    assert cause.rule.when == ()
    assert cause.rule.amount_deg == pytest.approx(-3.0)


def test_a_button_pressed_once_for_half_a_second() -> None:
    run = stabs()
    on = turned_on(run, (21.0, 21.5))
    statement = told(run.carry("Push", on.astype(float)).post("x", np.where(on, -4.0, 0.0)))
    assert first(statement).rule is not None
    assert first(statement).rule.when == ({"channel": "Push", "is": 1},)  # type: ignore[union-attr]


def test_half_a_second_of_ten_samples_a_second_is_enough_for_a_switch() -> None:
    run = climb(rate_hz=10.0)
    pressed = (run.times > 26.05) & (run.times < 26.55)
    run = run.carry("Pass", pressed * 1.0).post("x", np.where(pressed, -4.0, 0.0))
    (cause,) = rules(told(run))
    assert cause.rule is not None
    assert cause.rule.when == ({"channel": "Pass", "is": 1},)


def test_a_threshold_is_the_roundest_number_that_the_log_leaves_open() -> None:
    run = stabs()
    on = run.signals["engine speed"] > 4100.0
    (cause,) = rules(told(run.post("x", np.where(on, -4.0, 0.0))))
    assert cause.rule is not None
    assert cause.rule.when == ({"channel": "Rev", "above": 4100},)


def test_channels_that_move_together_do_not_make_a_rule_less_sure() -> None:
    run = stabs()
    on = run.signals["engine speed"] > 4100.0
    alone = run.post("x", np.where(on, -4.0, 0.0))
    (sure,) = rules(told(alone))
    (beside,) = rules(told(alone.carry("Shaft", np.round(run.signals["engine speed"] / 3.7, 1))))
    assert beside.certainty == pytest.approx(sure.certainty, abs=0.02)
    assert any(one.when[0]["channel"] == "Shaft" for one in beside.alternatives)


def test_a_channel_that_only_here_says_the_same_makes_it_less_sure() -> None:
    run = stabs()
    on = run.signals["engine speed"] > 4100.0
    other = np.where(on, 70.0, 20.0) + 15.0 * np.sin(0.9 * run.times + 1.0)
    alone = run.post("x", np.where(on, -4.0, 0.0))
    sure, unsure = (told(r).causes[0].certainty for r in (alone, alone.carry("Level", other)))
    assert unsure < sure - 0.05


def test_a_switch_that_never_stood_otherwise_while_it_acted_is_a_possible_condition() -> None:
    run = stabs()
    on = (run.signals["throttle position"] > 50.0) & (run.times > 15.0) & (run.times < 40.0)
    run = run.carry("Wet", turned_on(run, (13.5, 44.0)).astype(float))
    calm = np.where((run.times < 15) | (run.times > 40), 9.0, run.signals["throttle position"])
    run = drive(run.signals["engine speed"], calm, np.interp(calm, [0, 100], [40.0, 190.0])).carry(
        "Wet", run.extra["Wet"]
    )
    (cause,) = rules(told(run.post("x", np.where(on, -4.0, 0.0))))
    longer = [one for one in cause.alternatives if len(one.when) == 2]
    assert any({"channel": "Wet", "is": 1} in one.when for one in longer)


def test_a_curve_that_ends_on_a_slope_may_go_on() -> None:
    run = stabs()
    speed = run.signals["engine speed"]
    values = np.round(np.interp(speed, [3500, 6000], [0.0, -6.0]), 1)
    (cause,) = rules(told(run.post("x", values)))
    assert cause.rule is not None
    assert cause.rule.along is not None
    assert cause.rule.along.channel == "Rev"
    assert cause.rule.along.at[-1] <= speed.max() + 1.0
    reach = [one.along.at[-1] for one in cause.alternatives if one.along is not None]
    assert max(reach) > speed.max() + 200.0


def test_a_curve_goes_on_to_nothing_that_cannot_be() -> None:
    run = stabs()
    plate = run.signals["throttle position"]
    values = np.round(np.interp(plate, [0, 30], [-8.0, 0.0]), 1)
    (cause,) = rules(told(run.post("x", values)))
    curves = [rule.along for rule in cause.alternatives if rule.along is not None]
    assert all(curve.at[0] >= 0.0 for curve in curves)
    assert all(abs(deg) <= 17.0 for curve in curves for deg in curve.deg)


def test_what_a_rule_reads_may_be_logged_a_row_before_what_it_does() -> None:
    run = stabs()
    on = turned_on(run, (6, 9), (15, 16), (22, 26), (33, 35), (50, 55))
    late = np.concatenate(([False], on[:-1]))
    (cause,) = rules(told(run.carry("Wet", on.astype(float)).post("x", np.where(late, -4.0, 0.0))))
    assert cause.rule is not None
    assert cause.rule.when == ({"channel": "Wet", "is": 1},)
    assert cause.seconds == pytest.approx(15.0, abs=0.3)


def test_a_condition_that_shows_for_a_moment_only_is_found_with_what_could_stand_for_it() -> None:
    """Full throttle with the switch on, but for one shift of three samples: what closed there may
    be throttle, or whatever falls with it, and one of these is a part of the rule."""
    t = np.arange(0.0, 60.0, ROWS_S)
    plate = np.interp(t, [0, 8, 9, 30, 30.1, 30.25, 30.35, 52, 53, 60],
                      [60, 60, 98, 98, 5, 5, 98, 98, 60, 60])  # fmt: skip
    speed = 3600.0 + 1500.0 * np.sin(0.41 * t)
    run = drive(speed, np.round(plate, 1), np.interp(plate, [0, 100], [40.0, 190.0]))
    switch = turned_on(run, (15.0, 45.0))
    run = run.carry("Wet", switch * 1.0)
    on = switch & (run.signals["throttle position"] > 50.0)
    (cause,) = rules(told(run.post("x", np.where(on, -5.0, 0.0))))
    assert cause.rule is not None
    given = [cause.rule, *cause.alternatives]
    assert all({"channel": "Wet", "is": 1} in rule.when for rule in given)
    second = {w["channel"] for rule in given for w in rule.when if w["channel"] != "Wet"}
    assert {"Plate", "Boost abs"} <= second


def test_what_all_rules_share_is_said_and_the_rest_is_said_to_be_open() -> None:
    wet, dry = {"channel": "Wet", "is": 1}, {"channel": "Plate", "above": 55.0}
    other = {"channel": "Boost abs", "above": 120.0}
    rule = Rule(when=(wet, dry), amount_deg=-4.0)
    units = {"Plate": "%", "Boost abs": "kPa"}
    told_so = rule_in_words(rule, [Rule(when=(other, wet), amount_deg=-4.0)], units)
    assert told_so == "it acts while Wet is 1, perhaps only while Plate is above 55 % (open as yet)"
    nearly = Rule(when=(wet, {"channel": "Plate", "above": 60.0}), amount_deg=-4.0)
    for others in ((), (nearly,), (Rule(when=(other,), amount_deg=-4.0),)):
        assert (
            rule_in_words(rule, others, units) == "it acts while Wet is 1 and Plate is above 55 %"
        )


def test_a_channel_may_lie_on_both_sides_of_where_nothing_acts_for_a_moment() -> None:
    """A steering angle that crosses its middle just then could bound the rule from either side."""
    t = np.arange(0.0, 60.0, ROWS_S)
    plate = np.interp(t, [0, 8, 9, 30, 30.1, 30.25, 30.35, 52, 53, 60],
                      [60, 60, 98, 98, 5, 5, 98, 98, 60, 60])  # fmt: skip
    run = drive(
        3600.0 + 1500.0 * np.sin(0.41 * t), plate, np.interp(plate, [0, 100], [40.0, 190.0])
    )
    switch = turned_on(run, (15.0, 45.0))
    run = run.carry("Wet", switch * 1.0).carry("Steering", np.round(30.0 * np.sin(t - 30.2), 1))
    on = switch & (run.signals["throttle position"] > 50.0)
    (cause,) = rules(told(run.post("x", np.where(on, -5.0, 0.0))))
    assert cause.rule is not None
    assert {"channel": "Wet", "is": 1} in cause.rule.when


def test_a_curve_is_told_with_no_more_digits_than_its_channel_has() -> None:
    run = climb()
    posted = np.interp(run.signals["manifold absolute pressure"], [70.0, 121.3, 163.7], [0, -3, -9])
    whole = {
        **run.signals,
        "manifold absolute pressure": np.round(run.signals["manifold absolute pressure"]),
    }
    statement = told(replace(run, signals=whole).post("x", np.round(posted, 1)))
    curves = [c.rule.along for c in statement.causes if c.rule is not None and c.rule.along]
    assert curves
    for curve in curves:
        assert all(abs(10 * x - round(10 * x)) < 1e-6 for x in curve.at)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_channel_that_hovers_gains_nothing_by_the_noise_of_the_advance(seed: int) -> None:
    """Where a threshold is in doubt a row may fall on either side; its noise stays what it is."""
    run, rng = stabs(), np.random.default_rng(seed)
    plate = run.signals["throttle position"]
    noise = np.round(rng.normal(0.0, 0.22, plate.size) * 4.0) / 4.0
    flow = np.round(2.0 * plate + rng.normal(0.0, 9.0, plate.size))
    run = run.carry("Flow", flow).post("x", np.where(plate > 55.0, -4.0, 0.0)).post("y", noise)
    cause = first(told(run))
    assert cause.rule is not None
    assert "Flow" not in {when["channel"] for when in cause.rule.when}
