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
