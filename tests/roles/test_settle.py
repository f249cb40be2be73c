"""Certainties are exact sums over who can play which part: checked by counting every matching."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tuneledger.arrays import FloatArray
from tuneledger.roles.settle import settle


def counted(weights: FloatArray, present: FloatArray, twin: FloatArray) -> FloatArray:
    """Every way to give each signal a channel or none, each channel at most once."""
    channels, signals = weights.shape
    odds = np.exp(weights) * (present / (channels * (1 - present)))
    none = 1 + np.exp(twin) / channels
    total, out = 0.0, np.zeros_like(weights)
    for way in product(range(-1, channels), repeat=signals):
        taken = [i for i in way if i >= 0]
        if len(set(taken)) == len(taken):
            chosen = [(i, j) for j, i in enumerate(way) if i >= 0]
            left = [none[i] for i in range(channels) if i not in taken]
            weight = np.prod([odds[c] for c in chosen]) * np.prod(left)
            total += weight
            for c in chosen:
                out[c] += weight
    return out / total


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 4), st.integers(1, 3))
def test_certainties_are_those_of_all_matchings_counted(seed: int, rows: int, columns: int) -> None:
    rng = np.random.default_rng(seed)
    weights = rng.normal(0, 4, (rows, columns))
    present, twin = rng.uniform(0.1, 0.95, columns), rng.normal(-4, 3, rows)
    expected = counted(weights, present, twin)
    assert settle(weights, present, twin) == pytest.approx(expected, abs=2e-3)


def test_two_channels_alike_share_one_signal() -> None:
    found = settle(np.array([[8.0], [8.0]]), np.array([0.9]), np.full(2, -30.0))
    assert found[0, 0] == pytest.approx(0.5, abs=0.01)
    assert found.sum() == pytest.approx(1.0, abs=0.01)


def test_a_channel_that_plays_one_part_leaves_the_other_to_the_next() -> None:
    weights = np.array([[12.0, 9.0], [-5.0, 6.0]])
    found = settle(weights, np.array([0.9, 0.9]), np.full(2, -30.0))
    assert found[0, 0] > 0.95
    assert found[1, 1] > 0.95


def test_what_speaks_for_any_number_of_twins_speaks_for_nobody() -> None:
    alone = settle(np.array([[9.0]]), np.array([0.5]), np.array([-30.0]))
    doubted = settle(np.array([[9.0]]), np.array([0.5]), np.array([9.0]))
    assert alone[0, 0] > 0.99
    assert doubted[0, 0] < 0.6


def test_twenty_signals_that_all_compete_are_settled_too() -> None:
    rng = np.random.default_rng(2)
    found = settle(rng.normal(0, 2, (60, 22)), np.full(22, 0.5), np.full(60, -30.0))
    assert np.isfinite(found).all()
    assert (found.sum(axis=0) <= 1.0 + 1e-6).all()
