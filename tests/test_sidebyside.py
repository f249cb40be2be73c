"""Things done at the same time give what they give one after the other."""

import threading

import pytest

from tuneledger.sidebyside import both, side_by_side


def test_what_is_done_side_by_side_comes_back_in_the_order_asked():
    assert side_by_side(lambda n: n * n, [3, 1, 2]) == (9, 1, 4)
    assert side_by_side(str, []) == ()


def test_both_run_at_the_same_time():
    meeting = threading.Barrier(2, timeout=20)
    assert both(lambda: ("one", meeting.wait() >= 0), lambda: ("other", meeting.wait() >= 0)) == (
        ("one", True),
        ("other", True),
    )


def test_an_error_of_the_first_goes_before_one_of_the_second():
    def first() -> int:
        raise KeyError("first")

    def second() -> int:
        raise ValueError("second")

    with pytest.raises(KeyError, match="first"):
        both(first, second)
    with pytest.raises(ValueError, match="second"):
        both(lambda: 1, second)
