"""Rules whose degrees come and go at a steady rate: conditions read where they turned."""

import numpy as np
import pytest

from tests.explain.test_hidden_rules import ramped, rules, stabs
from tests.explain.told import told
from tuneledger.explain.model import Rule


def limits(rule: Rule, channel: str) -> list[float]:
    return [
        when.get("above", when.get("below")) for when in rule.when if when["channel"] == channel
    ]


@pytest.mark.parametrize("per_s", [6.0, 8.0, 15.0])
def test_a_ramped_rule_has_thresholds_as_close_as_a_plain_one(per_s: float) -> None:
    run = stabs()
    plate, speed = run.signals["throttle position"], run.signals["engine speed"]
    on = (plate > 55.0) & (speed > 3300.0)
    run = run.post("x", ramped(np.where(on, -6.0, 0.0), per_s))
    (cause,) = rules(told(run))
    assert cause.rule is not None
    assert cause.rule.ramp is not None
    assert cause.rule.amount_deg == pytest.approx(-6.0, abs=0.1)
    assert limits(cause.rule, "Rev") == [pytest.approx(3300.0, abs=100.0)]
    # Boost follows the plate here to the last digit: either may come first.
    found = limits(cause.rule, "Plate") or [
        (kpa - 40.0) / 1.5 for kpa in limits(cause.rule, "Boost abs")
    ]
    assert found == [pytest.approx(55.0, abs=8.0)]
