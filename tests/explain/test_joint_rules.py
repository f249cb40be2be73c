"""Rules that act at the same time, each told with its own conditions and its own amount."""

import numpy as np
import pytest

from tests.explain.test_hidden_rules import rules, stabs, turned_on
from tests.explain.told import told


@pytest.mark.parametrize(("by_switch", "by_speed"), [(4.7, -2.6), (-3.0, -2.0), (-5.0, 3.0)])
def test_two_rules_that_overlap_in_every_way_are_two_and_no_third(
    by_switch: float, by_speed: float
) -> None:
    run = stabs()
    wet = turned_on(run, (6.0, 21.0), (34.0, 49.0))
    run = run.carry("Wet", wet * 1.0)
    fast = run.signals["engine speed"] > 3350.0
    run = run.post("w", np.where(wet, by_switch, 0.0)).post("s", np.where(fast, by_speed, 0.0))
    causes = rules(told(run))
    given = {
        (when["channel"], cause.rule.amount_deg)
        for cause in causes
        if cause.rule is not None
        for when in cause.rule.when
    }
    assert given == {("Wet", by_switch), ("Rev", by_speed)}


def test_amounts_that_are_nearly_alike_are_two_rules_all_the_same() -> None:
    """An amount between the two fits both within tolerance, under conditions that mean nothing."""
    run = stabs()
    wet = turned_on(run, (6.0, 16.0), (30.0, 44.0))
    run = run.carry("Wet", wet * 1.0).carry("Fan", turned_on(run, (3.0, 9.0), (20.0, 25.0)) * 1.0)
    open_ = run.signals["throttle position"] > 60.0
    run = run.post("x", np.where(wet, -3.0, 0.0) + np.where(open_, -2.5, 0.0))
    given = {(c.rule.amount_deg, len(c.rule.when)) for c in rules(told(run)) if c.rule}
    assert given == {(-3.0, 1), (-2.5, 1)}


def test_two_that_cancel_where_both_act_have_one_condition_each_and_say_for_how_long() -> None:
    run = stabs()
    wet = turned_on(run, (6.0, 16.0), (30.0, 44.0))
    open_ = run.signals["throttle position"] > 60.0
    taken = np.where(wet, -4.0, 0.0) + np.where(open_, 4.0, 0.0)
    causes = rules(told(run.carry("Wet", wet * 1.0).post("x", taken)))
    given = {(c.rule.amount_deg, len(c.rule.when)) for c in causes if c.rule}
    assert given == {(-4.0, 1), (4.0, 1)}
    assert all("of it another" in cause.says for cause in causes)


def test_one_rule_with_two_conditions_stays_one() -> None:
    run = stabs()
    wet = turned_on(run, (6.0, 21.0), (34.0, 49.0))
    fast = run.signals["engine speed"] > 3350.0
    run = run.carry("Wet", wet * 1.0).post("x", np.where(wet & fast, -4.0, 0.0))
    (cause,) = rules(told(run))
    assert cause.rule is not None
    assert {when["channel"] for when in cause.rule.when} == {"Wet", "Rev"}


def test_a_curve_of_many_points_is_one_curve_and_not_a_sum_of_two() -> None:
    run = stabs()
    volts = np.round(12.8 - 0.8 * run.signals["throttle position"] / 100.0, 2)
    taken = np.interp(volts, [12.0, 12.2, 12.35, 12.5, 12.7], [-8.0, -5.0, -5.5, -1.0, 0.0])
    statement = told(run.carry("Battery", volts).post("x", np.round(taken, 1)))
    along = [c.rule.along.channel for c in statement.causes if c.rule and c.rule.along]
    assert len(along) == len(set(along))
