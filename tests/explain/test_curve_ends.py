"""Where a curve ends with the log that showed it: what lies beyond makes it less sure."""

import numpy as np

from tests.explain.parts import drive
from tests.explain.test_hidden_rules import rules, stabs
from tests.explain.told import told
from tests.runs import Run
from tuneledger.arrays import FloatArray
from tuneledger.explain.model import Cause

# Surer than a curve is that may go on.
SURE = 0.92


def _follows_oil(oil: FloatArray) -> Cause:
    """A retard that follows the oil's warmth from 70 on, as this log has it."""
    run = stabs().carry("Oil warmth", oil)
    (cause,) = rules(told(run.post("x", np.round(np.interp(oil, [70, 100], [0.0, -6.0]), 1))))
    assert cause.rule is not None
    assert cause.rule.along is not None
    assert cause.rule.along.channel == "Oil warmth"
    return cause


def _peaks(*heights: float) -> FloatArray:
    """Warmth that comes up to these heights, one after another, from 60 each time."""
    times = stabs().times
    at = np.linspace(0.0, times[-1], 2 * len(heights) + 1)
    through = [60.0, *(x for height in heights for x in (height, 60.0))]
    return np.round(np.interp(times, at, through), 1)


def test_a_height_that_was_reached_once_may_be_passed_on_the_next_drive() -> None:
    cause = _follows_oil(_peaks(78.0, 95.0, 84.0))
    assert cause.certainty < SURE
    assert any(p.speaks == "against" and "was not seen" in p.says for p in cause.evidence)


def test_a_height_that_was_reached_again_and_again_is_the_end() -> None:
    cause = _follows_oil(_peaks(95.0, 95.0, 94.9, 95.0))
    assert cause.certainty >= SURE
    assert not any("was not seen" in p.says for p in cause.evidence)


def test_a_curve_that_has_levelled_off_leaves_nothing_open() -> None:
    cause = _follows_oil(_peaks(90.0, 125.0, 110.0))
    assert not any("was not seen" in p.says for p in cause.evidence)
    assert cause.certainty >= 0.8  # enough for an explanation, of so many points seen so seldom


def test_beyond_its_end_a_curve_may_go_on_steeply_or_less_so() -> None:
    cause = _follows_oil(_peaks(78.0, 95.0, 84.0))
    further = [one.along for one in cause.alternatives if one.along and one.along.at[-1] > 96.0]
    assert len({one.deg[-1] for one in further}) == 2
    assert all(one.deg[-1] < -5.0 for one in further)


def test_a_drive_at_a_quarter_throttle_shows_no_upper_end() -> None:
    def follows_load(run: Run) -> Cause:
        pressure = run.signals["manifold absolute pressure"]
        low, high = np.quantile(pressure, [0.3, 1.0])
        values = np.round(np.interp(pressure, [low, high], [0.0, -6.0]), 1)
        (cause,) = rules(told(run.post("x", values)))
        return cause

    whole = stabs()
    plate = np.minimum(whole.signals["throttle position"], 64.0)
    speed = whole.signals["engine speed"]
    wide = drive(speed, np.round(1.5 * plate, 1), np.interp(plate, [0, 64], [40.0, 190.0]))
    gentle = drive(speed, np.round(0.4 * plate, 1), np.interp(plate, [0, 64], [40.0, 90.0]))
    assert follows_load(wide).certainty >= SURE > follows_load(gentle).certainty


def test_the_noise_of_a_channel_is_no_flicker_of_the_curve_along_it() -> None:
    """The control unit reads its own number; the log has it with noise of its own."""
    oil = _peaks(95.0, 95.0, 94.9, 95.0)
    shaken = np.round(oil + np.random.default_rng(4).normal(0.0, 1.2, oil.size), 1)
    values = np.round(np.interp(oil, [70, 100], [0.0, -6.0]) / 0.5) * 0.5
    (cause,) = rules(told(stabs().carry("Oil warmth", shaken).post("x", values)))
    assert cause.rule is not None
    assert cause.rule.along is not None
    assert cause.rule.along.channel == "Oil warmth"
