"""Table look-up: by hand, against SciPy, and against published values of the shared data."""

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from tests.shared import SHARED, needs_data
from tuneledger.calibrations.model import Axis, Table
from tuneledger.evaluate.lookup import cell_of, interpolate, look_up, weights_1d

NAN = float("nan")


def array(*numbers):
    return np.array(numbers, dtype=np.float64)


def test_between_two_points_the_value_lies_on_a_straight_line():
    found = interpolate([array(20, 40, 60)], array(0, -2, -5), [array(30, 40, 45)])
    assert found.tolist() == [-1.0, -2.0, -2.75]


def test_outside_its_axis_a_table_holds_its_end_values():
    found = interpolate([array(20, 40)], array(1, 2), [array(-1e9, 19.9, 40.1, np.inf, -np.inf)])
    assert found.tolist() == [1.0, 1.0, 2.0, 2.0, 1.0]


def test_two_axes_are_bilinear_with_the_first_axis_along_the_rows():
    grid = array(10, 20, 30, 80).reshape(2, 2)
    found = interpolate([array(0, 1), array(0, 10)], grid, [array(0, 1, 0.5), array(10, 0, 5)])
    assert found.tolist() == [20.0, 30.0, 35.0]


def test_three_axes_are_trilinear():
    grid = np.arange(8.0).reshape(2, 2, 2)  # 4 x + 2 y + z
    axes = [array(0, 1)] * 3
    assert interpolate(axes, grid, [array(0.5), array(0.25), array(1)]).tolist() == [3.5]


def test_an_axis_of_one_point_holds_its_value_everywhere():
    found = interpolate([array(5), array(0, 1)], array(1, 3).reshape(1, 2), [array(-9, 5, NAN)] * 2)
    assert found[:2].tolist() == [1.0, 3.0]
    assert np.isnan(found[2])


def test_an_amount_is_one_number_whatever_is_read():
    assert look_up(Table(amount=-4.0), []).tolist() == -4.0


def test_a_missing_reading_has_no_value():
    found = interpolate(
        [array(0, 1), array(0, 1)], np.ones((2, 2)), [array(NAN, 0.5), array(0, NAN)]
    )
    assert np.isnan(found).all()


def test_a_cell_that_nobody_knows_spoils_only_the_look_ups_in_which_it_has_a_share():
    axes = (Axis(signal="engine speed", at=(0.0, 1.0)), Axis(channel="Load", at=(0.0, 1.0)))
    table = Table(axes=axes, values=((1.0, 2.0), (3.0, "?")))
    x, y = array(0, 0, 1, 0.5, 1, 2, 0.9), array(0, 1, 0, 0, 1, 5, 0.1)
    found = look_up(table, [x, y])
    assert found[:4].tolist() == [1.0, 2.0, 3.0, 2.0]
    assert np.isnan(found[4:]).all()


def test_columns_axes_and_grid_must_fit_each_other():
    with pytest.raises(ValueError, match="1 columns"):
        interpolate([array(0, 1), array(0, 1)], np.ones((2, 2)), [array(0)])
    with pytest.raises(ValueError, match="grid of"):
        interpolate([array(0, 1)], np.ones(3), [array(0)])


def test_a_place_on_an_axis_is_the_point_below_and_the_share_of_the_one_above():
    index, share = weights_1d(array(0, 10, 30), array(-5, 0, 2.5, 10, 25, 99, NAN))
    assert index[:-1].tolist() == [0, 0, 0, 1, 1, 1]
    assert share[:-1].tolist() == [0, 0, 0.25, 0, 0.75, 1]
    assert np.isnan(share[-1])


def test_a_visit_belongs_to_the_nearest_axis_point():
    cells = cell_of(array(1000, 2000, 4000), array(0, 1499, 1500, 2999, 3000, 9000, NAN))
    assert cells.tolist() == [0, 0, 1, 1, 2, 2, -1]


points = st.lists(st.integers(-500, 500), min_size=2, max_size=60, unique=True).map(
    lambda numbers: np.sort(np.array(numbers, dtype=np.float64) / 4)
)


@settings(max_examples=120, deadline=None)
@given(axes=st.lists(points, min_size=1, max_size=3), seed=st.integers(0, 2**32 - 1))
def test_look_up_agrees_with_scipy_on_inputs_held_within_the_axes(axes, seed):
    random = np.random.default_rng(seed)
    axes = [axis[: 60 if len(axes) < 3 else 12] for axis in axes]
    grid = random.uniform(-50, 50, [axis.size for axis in axes])
    columns = [random.uniform(axis[0] - 20, axis[-1] + 20, 200) for axis in axes]
    columns = [np.where(random.random(200) < 0.3, random.choice(a, 200), c)
               for a, c in zip(axes, columns, strict=True)]  # fmt: skip
    held = [np.clip(c, a[0], a[-1]) for a, c in zip(axes, columns, strict=True)]
    expected = RegularGridInterpolator(axes, grid)(np.column_stack(held))
    np.testing.assert_allclose(interpolate(axes, grid, columns), expected, atol=1e-9, rtol=0)


def test_a_long_log_is_looked_up_like_a_short_one():
    random = np.random.default_rng(3)
    axes = [np.linspace(0, 100, 7), np.linspace(0, 8000, 9)]
    grid = random.uniform(0, 40, (7, 9))
    x, y = random.uniform(-5, 105, 100_001), random.uniform(0, 9000, 100_001)
    whole = interpolate(axes, grid, [x, y])
    rows = [0, 32_767, 32_768, 65_536, 100_000]
    alone = [interpolate(axes, grid, [x[r : r + 1], y[r : r + 1]])[0] for r in rows]
    assert whole[rows].tolist() == alone


@needs_data
def test_the_shared_worked_points_are_met():
    reference = json.loads(Path(SHARED / "data/ref/interp_scipy.json").read_text())
    axes = [np.array(reference[name], dtype=np.float64) for name in ("rpm", "load")]
    grid = np.array(reference["table_deg"], dtype=np.float64)
    for point in reference["points"]:
        found = interpolate(axes, grid, [array(point["rpm"]), array(point["load"])])
        assert found[0] == pytest.approx(point["clamped"], abs=1e-9)
