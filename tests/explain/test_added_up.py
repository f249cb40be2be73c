"""Two causes that add up, a switch and a curve throughout, are told as these two."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import AIR, LEVER, hills, with_lever
from tests.explain.told import told
from tests.runs import Run
from tuneledger.explain.model import Cause
from tuneledger.statement.model import Statement

AT = (25.0, 40.0, 55.0, 70.0)


def warming(low: float, high: float) -> Run:
    """The hills with intake air that warms up and cools down again, and a lever on now and then."""
    run = hills()
    air = np.interp(run.times, [0, 25, 50, 80], [low, high, low + 0.4 * (high - low), high - 1.0])
    run = replace(run, signals={**run.signals, AIR: np.round(air)})
    return with_lever(run, ((run.times > 9) & (run.times < 33)) | (run.times > 56))


def both(run: Run, amount: float, deg: tuple[float, ...]) -> Run:
    curve = np.round(np.interp(run.signals[AIR], AT, deg), 1)
    return run.post("x", curve + np.where(run.extra[LEVER] > 0, amount, 0.0))


def switch_and_curve(statement: Statement) -> tuple[Cause, Cause]:
    causes = list(statement.causes)
    assert len(causes) == 2, [cause.says for cause in causes]
    causes.sort(key=lambda one: one.rule is not None and one.rule.along is not None)
    return causes[0], causes[1]


@pytest.mark.parametrize("amount", [-3.0, 2.5])
@pytest.mark.parametrize("span", [(29.0, 36.0), (30.0, 60.0)])
def test_a_switch_and_a_curve_throughout_are_not_two_curves_that_exclude_each_other(
    span: tuple[float, float], amount: float
) -> None:
    statement = told(both(warming(*span), amount, (-0.8, -2.6, -5.0, -7.0)))
    switch, curve = switch_and_curve(statement)
    assert switch.rule is not None
    assert switch.rule.amount_deg == pytest.approx(amount, abs=0.1)
    assert [dict(one) for one in switch.rule.when] == [{"channel": LEVER, "is": 1}]
    assert curve.rule is not None
    assert curve.rule.when == ()
    assert curve.rule.along is not None
    assert curve.rule.along.channel == "Air in"


def test_an_amount_throughout_and_a_switch_are_no_two_amounts_that_exclude_each_other() -> None:
    statement = told(both(warming(29.0, 33.0), 2.5, (-1.5,) * 4))
    amounts = sorted(c.rule.amount_deg for c in statement.causes if c.rule and c.rule.amount_deg)
    assert amounts == pytest.approx([-1.5, 2.5], abs=0.1)


def test_a_curve_that_really_acts_only_while_the_switch_is_on_stays_one_rule() -> None:
    run = warming(30.0, 60.0)
    curve = np.round(np.interp(run.signals[AIR], AT, (-0.8, -2.6, -5.0, -7.0)), 1)
    statement = told(run.post("x", np.where(run.extra[LEVER] > 0, curve, 0.0)))
    (cause,) = statement.causes
    assert cause.rule is not None
    assert cause.rule.along is not None
    assert [dict(one) for one in cause.rule.when] == [{"channel": LEVER, "is": 1}]
