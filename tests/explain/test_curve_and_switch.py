"""A curve and a switch that acts in the middle of it: the curve takes no ups and downs for it."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.parts import AIR, during
from tests.explain.told import told
from tests.runs import Run, climb
from tuneledger.arrays import FloatArray

CURVE = (30.0, 40.0, 50.0, 60.0), (0.0, 0.0, -2.5, -6.0)


def seldom(values: FloatArray, every: int) -> FloatArray:
    """A channel to half a degree with a sample in one row of so many."""
    out = np.round(values / 0.5) * 0.5
    out[np.arange(out.size) % every != 0] = np.nan
    return out


def warm_and_wet(every: int, degrees: float) -> Run:
    """Air that takes advance, oil that only grows warmer, and six seconds of rain."""
    run = climb(length_s=90.0)
    t = run.times
    air = np.interp(t, [0, 20, 35, 50, 65, 90], [30, 34, 48, 44, 54, 52]) + 0.3 * np.sin(1.3 * t)
    oil, wet = 70 + 16 * (1 - np.exp(-t / 40)), during(run, 36.0, 42.0)
    run = replace(run, signals={**run.signals, AIR: seldom(air, every)})
    run = run.carry("Oil", seldom(oil, every)).carry("Wet", wet.astype(float))
    taken = np.round(np.interp(air, *CURVE), 1)
    return run.post("a", taken).post("w", np.where(wet, degrees, 0.0))


@pytest.mark.parametrize(
    ("every", "degrees"),
    [(1, -3.5), (20, -5.0), (40, -3.5)],
    ids=["20 Hz", "1 Hz", "one in two seconds"],
)
def test_both_are_read_out_however_seldom_the_curve_s_channel_is_logged(
    every: int, degrees: float
) -> None:
    statement = told(warm_and_wet(every, degrees))
    assert all(cause.certainty >= 0.75 for cause in statement.causes)
    curve, switch = (cause.rule for cause in statement.causes)
    assert curve is not None
    assert curve.along is not None
    assert curve.along.channel == "Air in"
    assert switch is not None
    assert switch.when == ({"channel": "Wet", "is": 1},)
    assert switch.amount_deg == pytest.approx(degrees, abs=0.2)
