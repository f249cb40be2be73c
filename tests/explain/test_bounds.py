"""A threshold that a rule may have besides is told as possible, and makes nothing less sure."""

import numpy as np

from tests.explain.test_hidden_rules import rules, stabs, turned_on
from tests.explain.told import told


def test_oil_that_was_warm_whenever_a_switch_acted_may_be_a_part_of_it() -> None:
    run = stabs()
    wet = turned_on(run, (38.0, 44.0), (50.0, 57.0))
    oil = np.round(95.0 - 35.0 * np.exp(-run.times / 25.0) + 0.5 * np.sin(run.times), 1)
    warm = oil[wet].min()
    hidden = run.carry("Wet", wet * 1.0).post("x", np.where(wet, -4.0, 0.0))
    (bare,) = rules(told(hidden))
    (cause,) = rules(told(hidden.carry("Oil warmth", oil)))
    assert cause.rule is not None
    assert cause.rule.when == ({"channel": "Wet", "is": 1},)
    assert cause.certainty == bare.certainty
    bounds = [w for rule in cause.alternatives for w in rule.when if w["channel"] == "Oil warmth"]
    assert bounds
    assert all(warm - 1.0 < bound["above"] < warm for bound in bounds)


def test_what_was_so_most_of_the_time_is_no_condition() -> None:
    run = stabs()
    wet = turned_on(run, (6.0, 12.0), (50.0, 57.0))
    oil = np.round(np.where(run.times < 4.0, 50.0, 90.0) + 0.1 * run.times, 1)
    hidden = run.carry("Wet", wet * 1.0).post("x", np.where(wet, -4.0, 0.0))
    (cause,) = rules(told(hidden.carry("Oil warmth", oil)))
    read = {w["channel"] for rule in cause.alternatives for w in rule.when}
    assert "Oil warmth" not in read
