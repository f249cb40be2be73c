"""A main map read out of the rows of a log; SciPy's grid interpolator makes the truth."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from tests.runs import MAP, PRESSURES, SPEEDS
from tuneledger.arrays import FloatArray
from tuneledger.evaluate.lookup import interpolate
from tuneledger.explain.surface import LOADS, SPEED, Surface, read_surface

TRUE = RegularGridInterpolator((PRESSURES, SPEEDS), np.array(MAP))
LOAD = LOADS[0]


def wandering(seed: int, seconds: float = 90.0, hz: float = 20.0) -> dict[str, FloatArray]:
    """A drive that wanders over the map, slowly enough for a car."""
    rng = np.random.default_rng(seed)
    size = int(seconds * hz)
    out = {}
    for name, low, high in ((LOAD, 40.0, 200.0), (SPEED, 900.0, 7000.0)):
        knots = np.linspace(0, size - 1, max(4, int(seconds / 2.5)))
        out[name] = np.interp(np.arange(size), knots, rng.uniform(low, high, knots.size))
    return out


def asked(columns: dict[str, FloatArray], step: float = 0.1) -> FloatArray:
    exact = TRUE(np.column_stack([columns[LOAD], columns[SPEED]]))
    return np.asarray(np.round(exact / step) * step)


def read(columns: dict[str, FloatArray], wanted: FloatArray, tolerance: float = 0.3) -> Surface:
    found = read_surface(columns, wanted, tolerance=tolerance, row_s=0.05)
    assert found is not None
    return found


@pytest.mark.parametrize("seed", range(4))
def test_a_map_is_read_to_within_the_tolerance_wherever_the_run_has_been(seed: int) -> None:
    columns = wandering(seed)
    found = read(columns, asked(columns))
    known = np.isfinite(found.values)
    left = np.abs(found.values - asked(columns))[known]
    assert known.mean() > 0.95
    assert (left <= 0.3).mean() > 0.97
    assert [axis.signal for axis in found.axes] == [LOAD, SPEED]
    assert found.settled > 0.97


@pytest.mark.parametrize("step", [0.5, 1.0])
def test_a_coarsely_rounded_channel_still_gives_the_map(step: float) -> None:
    columns = wandering(5)
    found = read(columns, asked(columns, step), tolerance=step)
    exact = TRUE(np.column_stack([columns[LOAD], columns[SPEED]]))
    left = (found.values - exact)[np.isfinite(found.values)]
    assert np.sqrt(np.mean(left**2)) < 0.5 * step


def test_points_that_the_run_has_not_been_near_are_not_known() -> None:
    columns = wandering(6)
    far = (columns[LOAD] > 120) & (columns[SPEED] < 3500)
    wanted = np.where(far, np.nan, asked(columns))
    found = read(columns, wanted)
    corner = interpolate(
        [axis.points for axis in found.axes],
        found.grid,
        [np.array([180.0]), np.array([1500.0])],
    )
    assert np.isnan(corner[0])
    assert found.coverage < read(columns, asked(columns)).coverage


@given(seed=st.integers(0, 10_000), degrees=st.sampled_from([-6.0, -3.0, 4.0]))
@settings(max_examples=8)
def test_what_acts_for_a_quarter_of_the_time_does_not_bend_the_map(
    seed: int, degrees: float
) -> None:
    columns = wandering(seed, seconds=180.0)
    size = columns[SPEED].size
    on = (np.arange(size) // 100) % 4 == 0  # five seconds of every twenty
    found = read_surface(
        columns, asked(columns) + np.where(on, degrees, 0.0), tolerance=0.3, row_s=0.05, finest=9
    )
    assert found is not None
    left = (found.values - asked(columns))[np.isfinite(found.values)]
    assert np.median(np.abs(left)) < 0.35


def test_two_loads_that_would_do_are_told_apart_by_the_fit() -> None:
    columns = wandering(8)
    other = wandering(9)[LOAD] / 2.0
    found = read({**columns, "throttle position": other}, asked(columns))
    assert found.axes[0].signal == LOAD
    wrong_first = {LOAD: other * 2.0, "throttle position": columns[LOAD] / 2.0}
    found = read({**wrong_first, SPEED: columns[SPEED]}, asked(columns))
    assert found.axes[0].signal == "throttle position"


def test_without_engine_speed_or_with_hardly_a_row_there_is_no_map() -> None:
    columns = wandering(10)
    wanted = asked(columns)
    assert read_surface({LOAD: columns[LOAD]}, wanted, tolerance=0.3, row_s=0.05) is None
    few = {name: values[:40] for name, values in columns.items()}
    assert read_surface(few, wanted[:40], tolerance=0.3, row_s=0.05) is None
    still = {name: np.full(wanted.shape, 50.0) for name in columns}
    assert read_surface(still, wanted, tolerance=0.3, row_s=0.05) is None
