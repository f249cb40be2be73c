"""How finely a log has its numbers."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tuneledger.explain.grain import Number

NUMBERS = st.lists(st.one_of(st.just(float("nan")), st.floats(-1e3, 1e3)), min_size=1, max_size=40)


@given(NUMBERS, st.sampled_from([1, 3, 5, 21, 101]))
def test_a_mean_around_a_row_is_that_of_the_samples_there_are(
    numbers: list[float], rows: int
) -> None:
    values = np.array(numbers)
    found = Number(values, np.arange(values.size) * 0.1).mean_around(np.arange(values.size), rows)
    for at, mean in enumerate(found):
        around = values[max(0, at - rows // 2) : at + rows // 2 + 1]
        if np.isnan(values[at]):
            assert np.isnan(mean)
        else:
            np.testing.assert_allclose(mean, np.nanmean(around), rtol=1e-9, atol=1e-9)


def test_noise_around_a_steady_value_is_averaged_and_a_ramp_without_noise_is_not() -> None:
    times = np.arange(3000) * 0.02
    random = np.random.default_rng(4)
    shaken = np.round(90.0 + random.normal(0.0, 0.4, times.size), 1)
    assert Number(shaken, times).averaged_over > 1
    assert Number(np.round(times * 30.0, 1), times).averaged_over == 1


def test_a_gear_is_counted_and_known_exactly() -> None:
    times = np.arange(100) * 0.1
    assert Number(np.repeat([1.0, 2.0, 3.0, 4.0], 25), times).counted
    assert not Number(np.linspace(0.0, 4.0, 100), times).counted


def test_of_a_number_that_stands_still_the_decimals_are_the_step() -> None:
    times = np.arange(10) * 0.1
    assert Number(np.full(10, 92.5), times).logged_step == 0.1
    assert Number(np.full(10, 92.5), times).step == 0.0
