"""What else a made log would allow beside its hidden rule."""

import numpy as np
import pytest

from tuneledger.car.cases.apart import best_threshold, right


def test_a_threshold_that_says_the_same_is_found_from_either_side() -> None:
    acts = np.arange(400) % 100 > 60
    level = np.where(acts, 7.0, 3.0) + 0.5 * np.sin(np.arange(400))
    assert best_threshold(level, acts) == (pytest.approx(5.0, abs=0.6), True)
    assert best_threshold(-level, acts) == (pytest.approx(-5.0, abs=0.6), False)


def test_no_threshold_is_found_on_a_channel_that_goes_its_own_way() -> None:
    acts = np.arange(400) % 100 > 60
    assert best_threshold(np.sin(0.3 * np.arange(400)), acts) is None


@pytest.mark.parametrize(
    ("off", "is_right"),
    [
        (np.full(200, 0.5), True),  # half a degree everywhere
        (np.full(200, 0.6), False),
        (np.r_[np.full(10, 5.0), np.zeros(190)], True),  # 95 of a hundred samples agree
        (np.r_[np.full(11, 5.0), np.zeros(189)], False),
    ],
)
def test_a_rule_counts_as_right_by_the_measure_of_the_cases(
    off: np.ndarray, *, is_right: bool
) -> None:
    assert right(off) is is_right
