"""Ramps: how fast a contribution may change, and what is known of it after a gap."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.evaluate.bench import TENTHS, log, posted
from tuneledger.evaluate.memory import rate_limited

ON = [{"channel": "X", "is": "on"}]
EASED = {"amount": -6.0, "when": ON, "ramp": {"down": 20.0, "up": 10.0}}


def test_it_goes_down_and_comes_up_at_its_own_rates():
    # −2 a sample downwards, +1 a sample upwards
    inputs = log(X=[0, 1, 1, 1, 1, 0, 0])
    assert posted(EASED, inputs) == [0.0, -2.0, -4.0, -6.0, -6.0, -5.0, -4.0]


def test_one_number_goes_for_both_ways():
    inputs = log(X=[0, 1, 1, 0, 0])
    assert posted(EASED | {"ramp": 10.0}, inputs) == [0.0, -1.0, -2.0, -1.0, 0.0]


def test_it_starts_at_its_target():
    assert posted(EASED, log(X=[1, 1, 0])) == [-6.0, -6.0, -5.0]


def test_it_goes_by_the_clock():
    inputs = log([0.0, 0.1, 0.15, 0.4], X=[0, 1, 1, 1])
    assert posted(EASED | {"ramp": 10.0}, inputs) == [0.0, -1.0, -1.5, -4.0]


def test_a_turn_half_way_starts_from_where_it_is():
    assert posted(EASED, log(X=[0, 1, 0, 1, 1])) == [0.0, -2.0, -1.0, -3.0, -5.0]


def test_a_table_that_moves_more_slowly_than_the_ramp_is_followed():
    slow = {"axes": [{"channel": "X", "at": [0.0, 10.0]}], "values": [0.0, -10.0], "ramp": 10.0}
    assert posted(slow, log(X=[0, 1, 2, 5, 5, 5, 5])) == [0, -1, -2, -3, -4, -5, -5]


def test_after_a_gap_it_is_known_again_once_its_target_would_be_reached_either_way():
    # In the gap at 0.2 s the target was −6 or 0: the ramp may stand at −4 or at −1 there. The lower
    # of the two is back at rest at 0.6 s, at 1 a sample, and then both say the same.
    inputs = log(X=[0, 1, None, 0, 0, 0, 0])
    assert posted(EASED, inputs) == [0.0, -2.0, None, None, None, None, 0.0]


def test_a_first_sample_that_is_missing_leaves_the_first_moments_unknown():
    # The target was between −6 and 0; at 1 a sample upwards the lower of the two needs 6 samples.
    inputs = log(X=[None, 0, 0, 0, 0, 0, 0, 0])
    assert posted(EASED, inputs) == [None, None, None, None, None, None, 0.0, 0.0]


def test_a_gap_while_the_ramp_rests_costs_no_more_than_what_it_could_have_moved():
    inputs = log(X=[0, 0, None, 0, 0, 0])
    # at 0.2 s it may have gone to −2, and needs two samples back
    assert posted(EASED, inputs) == [0.0, 0.0, None, None, 0.0, 0.0]


def test_with_a_cell_that_nobody_knows_it_still_moves_no_faster_than_its_ramp():
    # whatever the cell is, in two samples it has moved by 2 at most, and needs two back
    table = {"axes": [{"channel": "X", "at": [0.0, 1.0, 2.0]}], "values": [0.0, -1.0, "?"]}
    inputs = log(X=[0, 2, 2, 0, 0, 0])
    assert posted(table | {"ramp": 10.0}, inputs) == [0.0, None, None, None, 0.0, 0.0]


columns = st.lists(
    st.tuples(st.sampled_from([0.01, 0.1, 0.35]), st.sampled_from([0.0, -1.0, -4.0, 3.0])),
    min_size=1,
    max_size=60,
)


@settings(max_examples=200, deadline=None)
@given(columns, st.sampled_from([1.0, 7.0, 40.0, 1000.0]), st.sampled_from([1.0, 15.0, 1000.0]))
def test_it_is_the_limiter_carried_out_sample_by_sample(rows, down, up):
    times = np.cumsum([step for step, _ in rows])
    target = np.array([value for _, value in rows])
    value, expected = target[0], [target[0]]
    for n in range(1, len(rows)):
        span = times[n] - times[n - 1]
        value = min(max(target[n], value - down * span), value + up * span)
        expected.append(value)
    np.testing.assert_allclose(rate_limited(target, times, down, up), expected, atol=1e-9)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.sampled_from([0, 1, None]), min_size=1, max_size=25),
    st.lists(st.booleans(), min_size=25, max_size=25),
)
def test_what_is_known_in_spite_of_gaps_is_so_whatever_stood_in_them(column, fill):
    filled = [int(f) if x is None else x for x, f in zip(column, fill, strict=False)]
    whole = posted(EASED, log(TENTHS[: len(column)], X=filled))
    for known, true in zip(posted(EASED, log(TENTHS[: len(column)], X=column)), whole, strict=True):
        assert known is None or abs(known - true) < 1e-9
