"""Which rows of a channel are samples of its own, and which a logger has filled in."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.logs.test_facts import SEEDS, wander
from tuneledger.arrays import FloatArray, IntArray
from tuneledger.logs.samples import Between, at_samples, find_samples, neighbours

STEPS = st.sampled_from([0.1, 0.5, 0.75])
WHOLE, BROKEN = st.sampled_from([3.0, 4.0, 8.0, 20.0, 40.0]), st.sampled_from([20 / 3, 40 / 3])


def drive(rows: int, seed: int) -> FloatArray:
    """An advance over so many rows of a file of 200 rows a second."""
    smooth = np.interp(np.arange(rows) / 4.0, np.arange(rows // 4 + 2), wander(rows // 4 + 2, seed))
    return np.asarray(smooth, dtype=np.float64)


def sampled(seed: int, every: float, step: float, rows: int = 16000) -> tuple[IntArray, FloatArray]:
    """Rows in which a channel of that pace first has each of its samples, and the samples."""
    at = np.arange(0.0, rows - 1e-9, every)
    first = np.ceil(at - 1e-9).astype(np.int64)
    first = first[first < rows]
    return first, np.round(drive(rows, seed)[first] / step) * step


@settings(max_examples=40, deadline=None)
@given(seed=SEEDS, every=st.one_of(WHOLE, BROKEN), step=STEPS)
def test_a_value_that_is_repeated_is_one_sample(seed: int, every: float, step: float) -> None:
    first, values = sampled(seed, every, step)
    held = values[np.searchsorted(first, np.arange(16000), side="right") - 1]
    found = find_samples(held)
    assert found.between is Between.HELD
    assert found.every == pytest.approx(every, rel=0.01)
    assert np.array_equal(np.round(held[found.own], 6), np.round(values, 6)) or every != round(
        every
    )


@settings(max_examples=40, deadline=None)
@given(seed=SEEDS, every=st.one_of(WHOLE, BROKEN), step=STEPS)
def test_empty_cells_hold_no_sample(seed: int, every: float, step: float) -> None:
    first, values = sampled(seed, every, step)
    cells = np.full(16000, np.nan)
    cells[first] = values
    found = find_samples(cells)
    assert found.between is Between.EMPTY
    assert found.every == pytest.approx(every, rel=0.01)
    assert np.array_equal(np.flatnonzero(found.own), first)


@settings(max_examples=40, deadline=None)
@given(seed=SEEDS, every=WHOLE, step=st.sampled_from([0.5, 0.75]), decimals=st.sampled_from([2, 3]))
def test_straight_lines_between_samples_are_the_loggers(
    seed: int, every: float, step: float, decimals: int
) -> None:
    first, values = sampled(seed, every, step)
    found = find_samples(np.round(np.interp(np.arange(16000), first, values), decimals))
    assert found.between is Between.JOINED
    assert found.exact
    assert np.array_equal(np.flatnonzero(found.own), first)


def test_straight_lines_that_bend_between_two_rows_have_no_row_that_is_quite_a_sample() -> None:
    at = np.arange(0.0, 16000.0, 20 / 3)
    values = np.round(np.interp(at, np.arange(16000), drive(16000, 3)) / 0.5) * 0.5
    found = find_samples(np.round(np.interp(np.arange(16000), at, values), 2))
    assert found.between is Between.JOINED
    assert not found.exact
    assert found.every == pytest.approx(20 / 3, rel=0.01)
    apart = np.abs(np.flatnonzero(found.own)[:, None] - at[None, :]).min(axis=1)
    assert apart.max() <= 1.5


@settings(max_examples=80, deadline=None)
@given(
    seed=SEEDS,
    step=st.sampled_from([0.1, 0.25, 0.5, 0.75, 1.0]),
    pace=st.sampled_from([0.0, 0.05, 0.4, 1.0]),
    fast=st.booleans(),
)
def test_a_channel_with_a_sample_in_every_row_is_taken_as_it_is(
    seed: int, step: float, pace: float, fast: bool
) -> None:
    values = wander(4000, seed, pace) if fast else drive(16000, seed)
    found = find_samples(np.round(values / step) * step)
    assert not found.sparse
    assert found.own.all()


@pytest.mark.parametrize("period", [25, 40, 50])
@pytest.mark.parametrize("size", [0.6, 3.0])
def test_what_swings_evenly_is_no_slow_channel(period: int, size: float) -> None:
    swing = size * np.sin(2.0 * np.pi * np.arange(1200) / period)
    swing[600:] = 0.0
    assert not find_samples(np.round(12.0 + swing, 1)).sparse


@pytest.mark.parametrize("values", [[], [np.nan, np.nan], [7.0], [5.0] * 50, list(range(100))])
def test_what_shows_no_pace_has_none(values: list[float]) -> None:
    found = find_samples(np.array(values, dtype=np.float64))
    assert found.every == 1.0
    assert not found.sparse
    assert np.array_equal(found.own, np.isfinite(values))


def test_a_few_missing_rows_make_no_slow_channel() -> None:
    values = np.round(drive(16000, 1), 1)
    values[::9] = np.nan
    found = find_samples(values)
    assert not found.sparse
    assert np.array_equal(found.own, np.isfinite(values))


def test_samples_are_joined_but_for_long_holes() -> None:
    values = np.full(40, np.nan)
    values[[4, 8, 12, 16, 36]] = [1.0, 3.0, 5.0, 7.0, 9.0]
    joined = at_samples(values, np.isfinite(values))
    assert joined[6] == 2.0
    assert joined[16] == 7.0
    assert np.isnan(joined[[0, 20, 35, 38]]).all()


def test_every_row_knows_the_samples_beside_it() -> None:
    own = np.array([False, True, False, False, True, False])
    left, right = neighbours(own)
    assert left.tolist() == [0, 0, 0, 0, 1, 1]
    assert right.tolist() == [0, 0, 1, 1, 1, 1]
