"""Of two temperatures that rise together all through a log, either may be what a rule follows."""

import numpy as np
import pytest

from tests.explain.told import told
from tests.runs import Run, climb
from tuneledger.arrays import FloatArray

RUN = climb()
OIL, COOLANT, GEARBOX = "Oil temp", "Coolant temp", "Gearbox temp"


def warming(start: float, end: float, bend: float) -> FloatArray:
    """A temperature that only rises, fast at first where it bends."""
    share = RUN.times / RUN.times[-1]
    rise = share if bend == 0 else (1 - np.exp(-bend * share)) / (1 - np.exp(-bend))
    return np.round(start + (end - start) * rise, 1)


def cold_advance(temperature: FloatArray, degrees: float) -> FloatArray:
    """So many degrees while cold, none any more at two thirds of the way up."""
    low, high = float(temperature[0]), float(temperature[-1])
    return np.round(np.interp(temperature, [low, low + 0.67 * (high - low)], [degrees, 0.0]), 1)


def cold_start(follows: str, bend: float, degrees: float) -> Run:
    temperatures = {
        OIL: warming(18.0, 74.0, 0.0),
        COOLANT: warming(20.0, 88.0, bend),
        GEARBOX: warming(15.0, 52.0, 0.4),
    }
    run = RUN.post("hidden", cold_advance(temperatures[follows], degrees))
    for name, values in temperatures.items():
        run = run.carry(name, values)
    return run


@pytest.mark.parametrize("follows", [OIL, COOLANT])
@pytest.mark.parametrize("bend", [0.0, 0.15, 0.3])
@pytest.mark.parametrize("degrees", [-6.0, -3.0, 5.0])
def test_no_one_of_temperatures_that_rise_together_is_sure(
    follows: str, bend: float, degrees: float
) -> None:
    statement = told(cold_start(follows, bend, degrees))
    rules = [cause for cause in statement.causes if cause.kind == "hidden rule"]
    assert rules
    assert all(cause.certainty < 0.8 for cause in rules)
