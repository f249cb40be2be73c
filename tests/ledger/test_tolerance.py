"""How far two channels may differ before the difference means anything."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tuneledger.ledger.tolerance import local_change, slack, tolerance


@given(st.lists(st.one_of(st.none(), st.floats(0.01, 2.0)), max_size=3))
def test_the_tolerance_is_the_coarser_step_but_never_below_a_third_of_a_degree(
    steps: list[float | None],
) -> None:
    assert tolerance(*steps) == max([0.3, *(s for s in steps if s)])


def test_at_steady_advance_nothing_is_forgiven() -> None:
    assert np.all(slack(np.full(10, 20.0), np.full(10, 17.0)) == 0.0)


def test_on_a_slope_half_a_row_is_forgiven() -> None:
    ramp = np.arange(0.0, 20.0, 2.0)
    assert np.all(slack(ramp, ramp) == 1.0)


def test_a_change_counts_for_the_rows_on_both_sides() -> None:
    step = np.array([10.0, 10.0, 10.0, 14.0, 14.0, 14.0])
    assert local_change(step).tolist() == [0, 0, 4, 4, 0, 0]
    assert local_change(step, reach=2).tolist() == [0, 4, 4, 4, 4, 0]


def test_missing_rows_neither_forgive_nor_blame() -> None:
    assert local_change(np.array([1.0, np.nan, 5.0])).tolist() == [0, 0, 0]
