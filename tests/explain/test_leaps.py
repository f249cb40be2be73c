"""A curve of which nothing was seen between two amounts is a threshold in disguise."""

import numpy as np
import pytest

from tuneledger.arrays import FloatArray
from tuneledger.explain.rules.columns import Column
from tuneledger.explain.rules.fitted import Fitted
from tuneledger.explain.rules.shape import Shape
from tuneledger.explain.rules.sure import leaps
from tuneledger.logs.model import Channel

AT, DEG = np.array([0.96, 0.99, 1.0]), np.array([0.0, 0.0, -3.0])
SEEN_ALL_ALONG = np.linspace(0.96, 1.0, 400)
TWO_STATES = np.where(np.arange(400) % 40 < 20, 0.96, 1.0)
PASSED_TWICE = np.concatenate((TWO_STATES, [0.995, 0.995]))


def curve(channel: FloatArray, deg: FloatArray = DEG) -> Fitted:
    column = Column(Channel("Mixture aim", "", "Mixture aim", "x.csv", 3), channel, (), 2.0, float)
    shape = Shape(column, AT, deg)
    return Fitted((), None, shape, None, shape.values(), np.zeros(channel.size), 12.0, 12.0)


@pytest.mark.parametrize("channel", [TWO_STATES, PASSED_TWICE])
def test_two_states_and_a_row_or_two_between_them_tell_no_slope(channel: FloatArray) -> None:
    rule = curve(channel)
    assert leaps(rule, rule.values)


def test_a_slope_that_was_driven_along_is_one() -> None:
    rule = curve(SEEN_ALL_ALONG)
    assert not leaps(rule, rule.values)


def test_rows_that_are_not_judged_are_not_seen() -> None:
    rule = curve(SEEN_ALL_ALONG)
    left = np.where((SEEN_ALL_ALONG > 0.965) & (SEEN_ALL_ALONG < 0.9995), np.nan, rule.values)
    assert leaps(rule, left)


def test_a_leap_that_is_the_least_of_it_makes_no_threshold() -> None:
    late = np.where(SEEN_ALL_ALONG > 0.99, 1.0, SEEN_ALL_ALONG)
    rule = curve(late, np.array([0.0, -5.0, -5.5]))
    assert not leaps(rule, rule.values)
