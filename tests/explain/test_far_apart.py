"""A rule that starts at one number of a channel and stops at another, far from the first."""

import numpy as np
import pytest

from tests.explain.test_hidden_rules import rules, stabs, turned_on
from tests.explain.told import told
from tuneledger.arrays import BoolArray, FloatArray


def kept(number: FloatArray, on: float, off: float) -> BoolArray:
    """Rows from where a number passes `on` to where it passes `off` the other way."""
    out, side, state = np.zeros(number.size, dtype=np.bool_), np.sign(on - off), False
    for i, now in enumerate(number):
        state = bool(side * now > side * on or (state and side * now >= side * off))
        out[i] = state
    return out


@pytest.mark.parametrize(("on", "off"), [(4900.0, 2900.0), (2700.0, 4700.0)])
def test_two_thresholds_far_apart_on_one_channel_are_one_rule(on: float, off: float) -> None:
    run = stabs()
    acts = kept(run.signals["engine speed"], on, off)
    (cause,) = rules(told(run.post("x", np.where(acts, -4.0, 0.0))))
    assert cause.rule is not None
    (condition,) = cause.rule.when
    assert condition["channel"] == "Rev"
    assert condition["above" if on > off else "below"] == pytest.approx(on, abs=120.0)
    assert condition["release"] == pytest.approx(off, abs=120.0)
    assert cause.certainty >= 0.8


def test_so_are_they_beside_a_switch() -> None:
    run = stabs()
    on = turned_on(run, (2.0, 31.0), (38.0, 58.0))
    acts = kept(run.signals["engine speed"], 4900.0, 2900.0) & on
    (cause,) = rules(told(run.carry("Lever", on * 1.0).post("x", np.where(acts, -4.0, 0.0))))
    assert cause.rule is not None
    assert {condition["channel"] for condition in cause.rule.when} == {"Rev", "Lever"}
    assert any(condition.get("release") for condition in cause.rule.when)
