"""How sure a rule of a log is: the doubts, each told by a drive that has it and one that has not.

What speaks for a rule is what happens in the log; what speaks against it is what else would say the
same there and something else on the next drive.
"""

from dataclasses import replace

import numpy as np

from tests.explain.parts import with_lever
from tests.explain.test_hidden_rules import rules, stabs, turned_on
from tests.explain.told import told
from tests.runs import Run
from tuneledger.arrays import BoolArray
from tuneledger.explain.model import SURE


def sureness(run: Run, on: BoolArray) -> float:
    """Of the one rule for 4 degrees less wherever something holds."""
    (cause,) = rules(told(run.post("x", np.where(on, -4.0, 0.0))))
    return cause.certainty


def with_a_twin(run: Run) -> Run:
    """The throttle passes a height of its own whenever engine speed passes 4100 rpm, and stands in
    another order above and below it."""
    above = run.signals["engine speed"] - 4100.0
    wave = 7.0 * np.sin(2.9 * run.times) * np.clip(np.abs(above) / 300.0, 0.0, 1.0)
    plate = 50.0 + np.sign(above) * np.maximum(0.012 * np.abs(above) + wave, 0.002 * np.abs(above))
    return replace(run, signals={**run.signals, "throttle position": np.round(plate, 1)})


def at_first(run: Run, seconds: float) -> Run:
    rows = run.times < seconds
    signals = {name: values[rows] for name, values in run.signals.items()}
    return Run(run.times[rows], signals, run.scheduled[rows], run.regime)


def fast(run: Run) -> BoolArray:
    return np.asarray(run.signals["engine speed"] > 4100.0)


def test_one_threshold_passed_up_and_down_once_is_an_explanation() -> None:
    """One plain condition says less than a coincidence would have to."""
    run = stabs()
    early = run.times < 14.0
    speed = np.where(early, run.signals["engine speed"], np.minimum(3800.0, 0.9 * 3800.0))
    once = Run(run.times, {**run.signals, "engine speed": speed}, run.scheduled, run.regime)
    on = fast(once)
    assert np.count_nonzero(np.diff(on.astype(int))) <= 2
    assert sureness(once, on) >= SURE


def test_what_turned_with_a_rule_at_every_one_of_its_edges_takes_little_from_it() -> None:
    run = with_a_twin(stabs())
    assert np.count_nonzero(np.diff(fast(run).astype(int))) >= 8
    (cause,) = rules(told(run.post("x", np.where(fast(run), -4.0, 0.0))))
    others = [one["channel"] for rule in cause.alternatives for one in rule.when]
    assert "Plate" in others
    assert cause.certainty >= SURE


def test_a_rival_of_a_threshold_takes_less_where_a_switch_decides_besides() -> None:
    """The two thresholds could differ only while the lever is on."""
    run = with_a_twin(stabs())
    lever = turned_on(run, (6.0, 16.0), (26.0, 36.0), (44.0, 54.0))
    assert sureness(with_lever(run, lever), fast(run) & lever) >= SURE


def test_two_conditions_in_one_stretch_may_be_chance() -> None:
    run = stabs()
    lever = turned_on(run, (20.0, 33.0))
    on = lever & fast(run) & (run.times < 30.0)
    few = np.count_nonzero(np.diff(on.astype(int)))
    often = turned_on(run, (2.0, 50.0))
    assert few <= 4
    once = sureness(with_lever(run, lever), on)
    assert once < sureness(with_lever(run, often), often & fast(run))


def test_what_is_sure_of_two_channels_that_run_alike_is_told_apart_from_which_it_is() -> None:
    run = at_first(with_a_twin(stabs()), 20.0)
    (cause,) = rules(told(run.post("x", np.where(fast(run), -4.0, 0.0))))
    assert cause.certainty < SURE
    assert "which of Plate and Rev decides cannot be told from this log" in cause.says
    assert "that one of them does is 95 % sure" in cause.says
