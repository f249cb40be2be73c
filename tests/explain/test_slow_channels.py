"""A rule that reads a channel slower than its log, whose logger repeats each sample."""

import numpy as np
import pytest

from tests.explain.test_hidden_rules import rules, stabs
from tests.explain.told import told
from tests.runs import Run
from tuneledger.arrays import FloatArray

PER_SECOND = 20  # rows of the log


def warm_air(run: Run) -> FloatArray:
    """It rises with every stab and falls again, about 50 °C."""
    plate = run.signals["throttle position"]
    heat = np.convolve(plate, np.exp(-np.arange(120) / 50.0) / 50.0)[: plate.size]
    return np.round(40.0 + 0.3 * heat, 2)


def repeated(values: FloatArray) -> FloatArray:
    return np.repeat(values[::PER_SECOND], PER_SECOND)[: values.size]


def test_a_threshold_on_a_repeated_channel_is_found_between_its_samples() -> None:
    run = stabs()
    air = warm_air(run)
    acts = (air > 50.0) & (run.signals["throttle position"] > 60.0)
    assert 0.1 < acts.mean() < 0.5
    run = run.carry("Air after cooler", repeated(air)).post("x", np.where(acts, -4.0, 0.0))
    (cause,) = rules(told(run))
    assert cause.rule is not None
    (over,) = (when["above"] for when in cause.rule.when if when["channel"] == "Air after cooler")
    assert over == pytest.approx(50.0, abs=1.0)
    (other,) = (when for when in cause.rule.when if when["channel"] != "Air after cooler")
    assert other["channel"] in ("Plate", "Boost abs")  # boost follows the plate here
    assert cause.certainty >= 0.8
