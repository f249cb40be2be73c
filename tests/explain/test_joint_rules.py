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
