"""Two channels of one ECU that reach the log some samples apart."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.runs import climb
from tuneledger.arrays import FloatArray
from tuneledger.ledger.lag import _misfits, estimate_lag, realigned, shifted


def late(values: FloatArray, rows: float) -> FloatArray:
    """The values as a logger would have them that samples them `rows` rows late."""
    at = np.arange(values.size, dtype=np.float64)
    return np.asarray(np.interp(at - rows, at, values))


@given(rows=st.floats(0.0, 4.0), step=st.sampled_from([0.1, 0.25, 0.5, 1.0]))
@settings(max_examples=40, deadline=None)
def test_a_lag_of_any_fraction_is_found_the_finer_the_steps_are(rows: float, step: float) -> None:
    scheduled = climb().scheduled
    delivered = np.round(late(scheduled, rows) / step) * step
    lag = estimate_lag(np.round(scheduled / step) * step, delivered, step=step)
    assert lag.sure
    assert lag.rows == pytest.approx(rows, abs=0.15 + 0.35 * step)


def test_corrections_that_come_and_go_do_not_move_the_lag() -> None:
    scheduled = climb().scheduled
    taken = np.where(np.arange(scheduled.size) // 60 % 3 == 0, -4.0, 0.0)
    lag = estimate_lag(scheduled, late(scheduled + taken, 1.5), step=0.1)
    assert lag.rows == pytest.approx(1.5, abs=0.2)


@given(
    rows=st.floats(0.0, 3.0),
    slope=st.floats(-1.2, 1.2),
    step=st.sampled_from([0.1, 0.5, 1.0]),
    seed=st.integers(0, 50),
)
@settings(max_examples=40, deadline=None)
def test_a_correction_along_the_maps_own_axes_is_no_lag(
    rows: float, slope: float, step: float, seed: int
) -> None:
    """So many degrees per 1000 rpm look like a lag wherever speed rises steadily."""
    run = climb()
    speed = run.signals["engine speed"] + 10.0 * np.random.default_rng(seed).normal(size=1200)
    along = slope * (speed - 900.0) / 1000.0
    scheduled = np.round(run.scheduled / step) * step
    delivered = np.round(late(run.scheduled + along, rows) / step) * step
    lag = estimate_lag(scheduled, delivered, step=step)
    assert not lag.sure or lag.rows == pytest.approx(rows, abs=0.35 + 0.35 * step)


@pytest.mark.parametrize("gain", [0.8, 1.2])
def test_a_steady_rise_alone_tells_no_lag(gain: float) -> None:
    rise = 10.0 + 0.05 * np.arange(600.0)
    assert not estimate_lag(rise, gain * rise, step=0.1).sure


def test_a_lag_beyond_those_that_are_tried_is_not_measured() -> None:
    scheduled = climb().scheduled
    assert not estimate_lag(scheduled, late(scheduled, 12.0), step=0.1).sure


@pytest.mark.parametrize("rows", [7.0, 12.5, 18.0])
def test_in_a_log_of_many_rows_a_second_a_lag_of_as_many_milliseconds_is_more_rows(
    rows: float,
) -> None:
    scheduled = climb().scheduled
    lag = estimate_lag(scheduled, late(scheduled, rows), step=0.1, latest=20.0)
    assert lag.sure
    assert lag.rows == pytest.approx(rows, abs=0.15)


def test_a_constant_offset_is_no_lag() -> None:
    scheduled = climb().scheduled
    assert estimate_lag(scheduled, scheduled - 3.0, step=0.1).rows == 0.0


def test_where_nothing_moves_no_lag_is_claimed() -> None:
    steady = np.full(500, 22.0)
    lag = estimate_lag(steady, steady, step=0.5)
    assert not lag.sure
    assert lag.rows == 0.0


def test_an_advance_that_is_held_tells_no_lag_however_much_the_map_moves() -> None:
    scheduled = climb().scheduled
    assert not estimate_lag(scheduled, np.full(scheduled.size, 12.0), step=0.1).sure


def test_one_steep_edge_tells_a_whole_row_of_lag() -> None:
    fall = np.clip(28.0 - 1.5 * np.maximum(np.arange(200.0) - 100.0, 0.0), 9.0, None)
    lag = estimate_lag(np.round(fall), np.round(late(fall, 1.0)), step=1.0)
    assert lag.sure
    assert lag.rows == pytest.approx(1.0, abs=0.1)


def test_a_log_of_a_few_rows_has_no_lag() -> None:
    few = np.array([10.0, 20.0, 30.0])
    assert not estimate_lag(few, few, step=0.1).sure


@given(rows=st.integers(-3, 3))
def test_shifting_by_whole_rows_keeps_every_sample_and_leaves_the_ends_open(rows: int) -> None:
    values = np.arange(20.0)
    moved = shifted(values, float(rows))
    inside = np.isfinite(moved)
    assert inside.sum() == 20 - abs(rows)
    assert np.array_equal(moved[inside], np.arange(20.0)[max(rows, 0) : 20 + min(rows, 0)])


def test_a_missing_sample_is_never_bridged() -> None:
    values = np.array([1.0, np.nan, 3.0, 4.0, 5.0])
    assert np.isnan(shifted(values, 0.5)[:2]).all()
    assert shifted(values, 0.5)[2] == 3.5


@given(
    at=st.integers(20, 80),
    size=st.floats(2.0, 15.0),
    rows=st.floats(-1.9, 4.9),
    bend=st.floats(-0.4, 0.4),
    down=st.booleans(),
)
def test_with_the_lag_taken_out_a_step_is_no_ramp(
    at: int, size: float, rows: float, bend: float, down: bool
) -> None:
    row = np.arange(100.0)
    path = 20.0 + bend * np.abs(row - 50.0)
    step = (-size if down else size) * (row >= at)
    behind = np.arange(100.0) - rows  # when each sample of the late channel was true
    logged = np.interp(behind, row, path) + (-size if down else size) * (behind >= at)
    apart = realigned(logged, rows, step=0.6, along=path) - path
    assert abs(int(np.flatnonzero(np.abs(apart) > size / 2)[0]) - at) <= 1
    apart = apart[np.isfinite(apart)]
    assert np.all(np.minimum(np.abs(apart), np.abs(apart - step[-1])) < 0.5)


def test_a_ramp_is_read_between_its_samples() -> None:
    ramp = np.clip(np.arange(60.0) - 20.0, 0.0, 20.0)
    assert np.array_equal(realigned(ramp, 1.5, step=0.6), shifted(ramp, 1.5), equal_nan=True)


def test_a_step_where_nothing_is_known_of_its_path_is_read_as_it_was() -> None:
    values = np.where(np.arange(40) < 20, 5.0, 15.0)
    path = np.full(40, np.nan)
    moved = realigned(values, 0.5, step=0.6, along=path)
    assert np.array_equal(moved, shifted(values, 0.5), equal_nan=True)


@given(far=st.sampled_from([8, 20]), gain=st.floats(0.3, 2.0), seed=st.integers(0, 50))
@settings(max_examples=20, deadline=None)
def test_what_a_bend_says_is_what_reading_between_the_rows_says(
    far: int, gain: float, seed: int
) -> None:
    """Each lag read out by itself, and a straight line laid through by least squares."""
    random = np.random.default_rng(seed)
    reference = np.cumsum(random.normal(size=200))
    other = gain * late(reference, 1.3) + random.normal(scale=0.2, size=200)
    rows, lags, step = np.array([60, 95, 130]), np.array([-2.0, -0.7, 0.0, 1.3, 4.0]), 0.25
    found = _misfits(reference, other, rows, far, lags, step)
    for n, lag in enumerate(lags.tolist()):
        for m, row in enumerate(rows.tolist()):
            around = np.arange(row - far, row + far + 1)
            one, there = reference[around], np.interp(around + lag, np.arange(200), other)
            slope = np.clip(np.polyfit(one, there, 1)[0], 0.6, 1.5)
            rest = np.var(there - slope * one)
            share = lag % 1.0
            rounding = step**2 / 12.0 * (1.0 + (1.0 - share) ** 2 + share**2)
            assert found[n, m] == pytest.approx((far + 0.5) * np.log1p(rest / rounding), rel=1e-6)
