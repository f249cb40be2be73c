"""What a channel's numbers give away: its step, its raster, gaps, stuck values, exports."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tuneledger.logs.facts import (
    Clock,
    find_facts,
    frozen_spans,
    held_every,
    held_raster,
    quantisation_step,
    smeared_switch,
    thinned_by_extremes,
    time_gaps,
)

SEEDS = st.integers(0, 2**32 - 1)


def wander(rows: int, seed: int, pace: float = 0.4) -> np.ndarray:
    """An advance that wanders over some twenty degrees, as on a lively drive."""
    rng = np.random.default_rng(seed)
    t = np.arange(rows) * 0.02
    swing = 9 * np.sin(0.9 * t + rng.uniform(0, 6)) + 4 * np.sin(2.3 * t + rng.uniform(0, 6))
    return 14 + swing + np.cumsum(rng.normal(0, pace, rows)) * 0.2


@settings(max_examples=60, deadline=None)
@given(seed=SEEDS, step=st.sampled_from([0.1, 0.25, 0.5, 0.75, 1.0]), offset=st.integers(-64, 0))
def test_the_step_of_an_advance_is_found(seed: int, step: float, offset: int) -> None:
    values = np.round(np.round(wander(1500, seed) / step) * step + offset, 2)

    assert quantisation_step(values) == pytest.approx(step)


@settings(max_examples=60, deadline=None)
@given(
    seed=SEEDS,
    step=st.sampled_from([0.3516, 0.375, 0.703, 2 / 3, 0.75]),
    decimals=st.sampled_from([1, 2, 3, 6]),
)
def test_a_step_that_the_decimals_blur_is_found(seed: int, step: float, decimals: int) -> None:
    values = np.round(np.round(wander(1500, seed) / step) * step, decimals)

    assert quantisation_step(values) == pytest.approx(step, rel=0.02)


def test_percent_of_a_byte_is_found_behind_six_decimals() -> None:
    # SAE J1979: throttle position is a byte, 100/255 % each.
    values = np.float32(np.round(np.linspace(30, 220, 300)) * 100 / 255).astype(float)

    assert quantisation_step(np.round(values, 6)) == pytest.approx(100 / 255, rel=1e-3)


def test_a_channel_finer_than_its_decimals_steps_by_its_last_decimal() -> None:
    for decimals in (1, 2, 3):
        values = np.round(wander(1500, 7), decimals)
        assert quantisation_step(values) == pytest.approx(10.0**-decimals)


def test_some_samples_between_the_steps_do_not_hide_them() -> None:
    values = np.round(wander(3000, 3) / 0.25) * 0.25
    values[::60] += 0.07

    assert quantisation_step(values) == pytest.approx(0.25)


def test_a_long_rest_at_two_values_does_not_make_a_wide_step() -> None:
    values = np.where(np.arange(5000) % 900 < 400, 10.0, 12.5)
    assert quantisation_step(values) == 0.5

    values[:100] = np.round(wander(100, 1), 1)
    assert quantisation_step(values) == pytest.approx(0.1)


def test_no_step_is_claimed_where_there_is_none() -> None:
    assert quantisation_step(np.full(100, 12.5)) is None
    assert quantisation_step(np.full(100, np.nan)) is None
    assert quantisation_step(np.empty(0)) is None
    assert quantisation_step(wander(1500, 5)) is None


@settings(max_examples=60, deadline=None)
@given(seed=SEEDS, every=st.integers(2, 20), phase=st.integers(0, 19))
def test_a_held_channel_shows_its_raster(seed: int, every: int, phase: int) -> None:
    own = np.round(wander(200, seed, pace=3), 1)
    values = np.repeat(own, every)[phase % every :]

    raster = held_raster(values)

    assert raster.every == held_every(values) == every
    changed = np.flatnonzero(np.diff(values) != 0) + 1
    assert np.mean(changed % every == raster.phase) > 0.97


@settings(max_examples=60, deadline=None)
@given(seed=SEEDS)
def test_a_channel_that_is_sampled_in_every_row_is_not_held(seed: int) -> None:
    assert held_every(np.round(wander(1500, seed), 1)) == 1
    rng = np.random.default_rng(seed)
    assert held_every(np.repeat(rng.normal(size=300), rng.integers(1, 9, 300))) == 1


def test_few_changes_prove_no_raster() -> None:
    assert held_every(np.repeat(np.arange(5.0), 10)) == 1


def test_a_few_changes_off_the_raster_do_not_hide_it() -> None:
    values = np.repeat(np.round(wander(500, 2, pace=3), 1), 4)
    values[[401, 1203]] += 1

    assert held_every(values) == 4


def test_missing_rows_are_no_changes() -> None:
    values = np.full(400, np.nan)
    values[::5] = wander(80, 4)

    facts = find_facts(Clock(np.arange(400) * 0.01), values)

    assert held_every(values) == 1
    assert (facts.every, facts.samples) == (5, 80)
    assert facts.rate_hz == pytest.approx(20)


def test_a_held_channel_has_the_rate_of_its_own_samples() -> None:
    facts = find_facts(
        Clock(np.arange(800) * 0.01), np.repeat(np.round(wander(100, 1, pace=3), 1), 8)
    )

    assert facts.every == 8
    assert facts.rate_hz == pytest.approx(12.5)
    assert not facts.stuck


def test_gaps_are_where_samples_are_missing_not_where_the_raster_breathes() -> None:
    rng = np.random.default_rng(0)
    times = np.cumsum(rng.uniform(0.05, 0.15, 500))
    assert time_gaps(times) == ()

    times[300:] += 4.0
    assert time_gaps(times) == ((times[299], times[300]),)


def test_a_reading_that_freezes_in_mid_range_is_seen() -> None:
    times = np.arange(2000) * 0.02
    values = np.round(wander(2000, 6), 1)
    values[700:1100] = values[700]

    assert frozen_spans(times, values) == ((times[700], times[1099]),)
    assert find_facts(Clock(times), values).stuck


def test_a_closed_throttle_is_no_frozen_reading() -> None:
    times = np.arange(3000) * 0.02
    values = np.round(np.clip(20 * np.sin(0.25 * times), 0, None), 1)

    assert frozen_spans(times, values) == ()


def test_a_constant_channel_is_stuck() -> None:
    facts = find_facts(Clock(np.arange(50) * 0.1), np.full(50, 80.0))

    assert facts.constant
    assert facts.stuck
    assert facts.step is None


def test_a_switch_that_an_export_interpolated_is_recognised() -> None:
    rng = np.random.default_rng(2)
    values = np.repeat(np.tile([0.0, 1.0], 20), 17)
    assert smeared_switch(values) is None

    edges = np.flatnonzero(np.diff(values)) + 1
    values[edges] = np.round(rng.uniform(0.05, 0.95, edges.size), 2)
    assert smeared_switch(values) == "interpolated"


def test_a_switch_that_an_export_averaged_is_recognised() -> None:
    rng = np.random.default_rng(2)
    fine = np.repeat(np.tile([0.0, 1.0], 60), rng.integers(30, 70, 120))
    fine = fine[: fine.size // 5 * 5]

    assert smeared_switch(fine.reshape(-1, 5).mean(axis=1)) == "averaged"


@settings(max_examples=40, deadline=None)
@given(seed=SEEDS)
def test_no_switch_is_seen_in_a_channel_that_moves(seed: int) -> None:
    assert smeared_switch(np.round(np.clip(wander(1500, seed), 0, 20), 1)) is None


def test_rows_thinned_to_lowest_and_highest_are_recognised() -> None:
    rng = np.random.default_rng(4)
    fine = wander(8000, 4) + rng.normal(0, 0.5, 8000)
    bins = fine.reshape(-1, 40)
    pairs = np.stack([bins.min(axis=1), bins.max(axis=1)], axis=1).ravel()

    assert thinned_by_extremes(pairs)
    assert not thinned_by_extremes(fine)
    assert not thinned_by_extremes(wander(400, 4))


def test_numbers_too_far_apart_in_size_have_no_step() -> None:
    """As damage leaves them; the grid that would fit them is lost in rounding."""
    values = np.concatenate([[-3.18e60], 1e-115 * (12 + 0.5 * np.sin(np.arange(60) / 9.0))])
    assert quantisation_step(values) is None
