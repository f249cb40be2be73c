"""Which channels have states: a switch and a gear do, a temperature that stood at two values does
not."""

import numpy as np

from tests.explain.test_hidden_rules import rules, stabs, turned_on
from tests.explain.told import told


def test_a_temperature_that_stood_at_two_values_is_compared_and_not_named_as_a_state() -> None:
    run = stabs()
    warm = run.times > 30.0
    cold_box = np.where(warm, 87.0, 86.0)
    wet = turned_on(run, (10.0, 16.0), (22.0, 27.0), (38.0, 44.0), (50.0, 57.0))
    hidden = run.carry("Wet", wet * 1.0).carry("Gearbox temp", cold_box)
    causes = rules(told(hidden.post("x", np.where(wet & warm, -4.0, 0.0))))
    told_of = [w for c in causes for r in (c.rule, *c.alternatives) if r for w in r.when]
    read = [w for w in told_of if w["channel"] == "Gearbox temp"]
    assert read
    assert all("is" not in w for w in read)


def test_a_selector_of_three_positions_has_states() -> None:
    run = stabs()
    place = np.where(run.times < 20.0, 1.0, np.where(run.times < 40.0, 2.0, 3.0))
    place = np.where(turned_on(run, (45.0, 52.0)), 2.0, place)
    (cause, *_) = rules(told(run.carry("Selector", place).post("x", (place == 2.0) * -4.0)))
    assert cause.rule is not None
    assert {"channel": "Selector", "is": 2} in cause.rule.when
