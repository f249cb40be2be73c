"""A long log is searched in some of its rows, and what is found is carried out on all of them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.explain.parts import LEVER, drive, with_lever
from tests.explain.told import first, told
from tests.runs import Run, account
from tuneledger.explain.rules import thin
from tuneledger.explain.rules.columns import columns, columns_at
from tuneledger.explain.rules.refine import _overlap, _stretch
from tuneledger.ledger.book import open_book
from tuneledger.roles.inputs import LogInputs

ROWS_S = 0.05
NUMBERS = st.lists(st.integers(-6, 6).map(float), min_size=1, max_size=12)


def hour_of_stabs() -> Run:
    """Three quarters of an hour of stabs at the throttle, no two alike."""
    random = np.random.default_rng(7)
    at = np.cumsum(random.uniform(0.4, 5.0, 1000))
    t = np.arange(0.0, 2700.0, ROWS_S)
    plate = np.interp(t, at, random.uniform(4.0, 98.0, at.size))
    speed = 3600.0 + 1500.0 * np.sin(0.41 * t) + 500.0 * np.sin(1.3 * t)
    return drive(speed, np.round(plate, 1), np.interp(plate, [0, 100], [40.0, 190.0]))


@pytest.fixture(scope="module")
def long() -> Run:
    run = hour_of_stabs()
    pushed = (run.times % 97.0) < 31.0
    return with_lever(run, pushed)


def test_a_rule_of_a_long_log_is_found(long: Run) -> None:
    on = (long.extra[LEVER] == 1) & (long.signals["throttle position"] > 62.0)
    assert long.times.size > thin._LONG
    rule = first(told(long.post("x", np.where(on, -4.0, 0.0)))).rule
    assert rule is not None
    assert rule.amount_deg == -4.0
    by = {term["channel"]: term for term in rule.when}
    assert by[LEVER]["is"] == 1
    assert by["Plate"]["above"] == pytest.approx(62.0, abs=0.1)


def test_what_some_rows_say_of_a_channel_is_what_all_of_them_say(long: Run) -> None:
    log, roles = (told_of := account(long, "long.csv")).log, told_of.roles
    opened = open_book(log, roles, LogInputs(log, roles, log.times(log.time)))
    assert opened is not None
    rows = np.arange(0, long.times.size, 13, dtype=np.int64)
    for some, whole in zip(columns_at(opened, rows), columns(opened), strict=True):
        assert (some.name, some.levels, some.price) == (whole.name, whole.levels, whole.price)
        assert some.resolved == whole.resolved
        assert np.array_equal(some.values, whole.values[rows])


@given(NUMBERS, NUMBERS)
def test_a_threshold_is_placed_as_if_all_numbers_had_been_looked_at(
    inside: list[float], outside: list[float]
) -> None:
    low, high = _stretch(np.array(inside), np.array(outside))
    at = sorted({*inside, *outside})
    cuts = [at[0] - 1.0, *at]

    def wrong(t: float) -> int:
        return sum(x <= t for x in inside) + sum(x > t for x in outside)

    assert wrong(low) == min(map(wrong, cuts))
    assert all(wrong(t) == wrong(low) for t in cuts if low <= t < high)


def test_numbers_far_from_the_other_side_are_not_sorted() -> None:
    inside, outside = _overlap(np.arange(100.0), np.arange(-100.0, 3.0))
    assert inside.tolist() == [0.0, 1.0, 2.0, 3.0]
    assert outside.tolist() == [-1.0, 0.0, 1.0, 2.0]
