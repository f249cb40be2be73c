"""Readings: what is taken from the log, in which unit, and what is made of it."""

import numpy as np
import pytest

from tests.evaluate.bench import comparison, log, sheet, shown
from tests.inputs import TableInputs
from tuneledger.calibrations.model import Axis
from tuneledger.evaluate.readings import NEVER, goes_beyond, missing_names, read

KPA = {"manifold absolute pressure": ("kPa", [100.0, 150.0, 50.0])}
AIR = {"barometric pressure": ("hPa", [1000.0, 1000.0, 1000.0])}


def reading(**keys):
    return comparison(above=0.0, **keys)


def test_a_signal_is_read_in_the_unit_that_the_sheet_names_or_in_its_own():
    inputs = TableInputs([0, 1], {"intake air temperature": ("degC", [20.0, 100.0])})
    warm = reading(signal="intake air temperature", unit="degF")
    assert shown(read(warm, inputs)) == [68.0, 212.0]
    assert shown(read(reading(signal="intake air temperature"), inputs)) == [20.0, 100.0]


def test_a_channel_is_read_in_the_unit_named_or_as_logged():
    inputs = TableInputs([0], channels={"Boost": ("bar", [1.5])})
    assert shown(read(reading(channel="Boost", unit="kPa"), inputs)) == [150.0]
    assert shown(read(reading(channel="Boost"), inputs)) == [1.5]


def test_what_the_log_lacks_or_has_in_a_unit_of_another_kind_cannot_be_read():
    inputs = TableInputs([0], channels={"Boost": ("bar", [1.5])})
    assert read(reading(signal="engine speed"), inputs) is None
    assert read(reading(channel="Wet"), inputs) is None
    assert read(reading(channel="Boost", unit="degC"), inputs) is None


def test_minus_takes_the_second_in_the_unit_of_the_first():
    boost = reading(signal="manifold absolute pressure", minus="barometric pressure", unit="kPa")
    assert shown(read(boost, TableInputs([0, 1, 2], KPA | AIR))) == [0.0, 50.0, -50.0]
    assert read(boost, TableInputs([0, 1, 2], KPA)) is None


def test_over_is_the_ratio_of_two_of_one_kind_in_one_unit():
    ratio = reading(signal="manifold absolute pressure", over="barometric pressure", unit="psi")
    assert shown(read(ratio, TableInputs([0, 1, 2], KPA | AIR))) == [1.0, 1.5, 0.5]


def test_over_takes_a_quantity_of_another_kind_in_its_own_unit_and_not_over_zero():
    inputs = TableInputs(
        [0, 1],
        {"engine speed": ("rpm", [3000.0, 3000.0]), "vehicle speed": ("km/h", [60.0, 0.0])},
    )
    overall = reading(signal="engine speed", over="vehicle speed", unit="rpm")
    assert shown(read(overall, inputs)) == [50.0, None]


def test_a_second_that_is_no_signal_is_a_channel():
    inputs = log(Front=[80.0, 80.0], Rear=[84.0, 90.0])
    assert shown(read(reading(channel="Rear", minus="Front"), inputs)) == [4.0, 10.0]


def test_rate_is_the_change_per_second_over_its_span_and_unknown_before():
    inputs = log(X=[0.0, 0.0, 0.0, 3.0, 6.0, 6.0])
    assert shown(read(reading(channel="X", rate=0.2), inputs)) == [None, None, 0, 15, 30, 15]


def test_rate_looks_between_samples_along_a_straight_line():
    # 0.15 s before 0.2 s lies half way between 0 and 1, before 0.3 s half way between 1 and 4
    inputs = log(X=[0.0, 1.0, 4.0, 9.0])
    expected = [None, None, (4 - 0.5) / 0.15, (9 - 2.5) / 0.15]
    found = read(reading(channel="X", rate=0.15), inputs)
    np.testing.assert_allclose(found, [np.nan if e is None else e for e in expected])


def test_rate_goes_by_the_clock_where_samples_are_not_evenly_spaced():
    inputs = log([0.0, 0.1, 0.4, 0.5], X=[0.0, 1.0, 7.0, 7.0])
    # 0.2 s before 0.4 s: 1 + (7 − 1) · 0.1 / 0.3 = 3; before 0.5 s: 5
    assert shown(read(reading(channel="X", rate=0.2), inputs)) == [None, None, 20.0, 10.0]


def test_rate_needs_the_samples_about_both_ends_and_no_other():
    inputs = log(X=[0.0, None, 2.0, 3.0, 4.0])
    assert shown(read(reading(channel="X", rate=0.2), inputs)) == [None, None, 10.0, None, 10.0]
    assert shown(read(reading(channel="X", rate=0.25), inputs))[3:] == [None, None]


def test_rate_of_a_difference_is_the_rate_at_which_the_gap_opens():
    inputs = log(A=[5.0, 6.0, 9.0], B=[1.0, 1.0, 1.0])
    assert shown(read(reading(channel="A", minus="B", rate=0.1), inputs)) == [None, 10.0, 30.0]


def test_since_counts_from_the_last_turn_and_is_never_before_the_first():
    inputs = log(X=[1, 1, 0, 0, 1, 1, 0, 1])
    since = reading(since={"channel": "X", "is": "on"})
    found = read(since, inputs)
    assert (found[:4] == NEVER).all()
    assert shown(found[4:]) == [0.0, 0.1, 0.2, 0.0]


def test_since_is_in_seconds_unless_the_sheet_names_another_unit():
    inputs = log(X=[0, 1, 1])
    assert shown(read(reading(since={"channel": "X", "is": "on"}, unit="ms"), inputs)[1:]) == [
        0,
        100,
    ]


def test_since_is_unknown_once_a_turn_may_have_fallen_into_a_gap_until_the_next_turn():
    inputs = log(X=[0, None, 1, 1, 0, 1])
    found = read(reading(since={"channel": "X", "is": "on"}), inputs)
    assert found[0] == NEVER
    assert shown(found[1:]) == [None, None, None, None, 0.0]


def test_a_gap_inside_on_may_hide_a_turn_but_one_inside_off_then_off_too():
    on = read(reading(since={"channel": "X", "is": "on"}), log(X=[0, 1, None, 1]))
    assert shown(on[1:]) == [0.0, 0.1, None]  # it may have gone off and on again
    off = read(reading(since={"channel": "X", "is": "on"}), log(X=[0, None, 0, 0]))
    assert shown(off[1:]) == [None, None, None]


def test_the_log_s_own_clock_can_be_read_without_a_channel_for_it():
    assert shown(read(reading(signal="time", unit="ms"), log(X=[0, 0]))) == [0.0, 100.0]


def test_the_names_that_a_log_lacks_are_found_however_deep_they_stand():
    deep = {
        "axes": [{"signal": "engine speed", "minus": "Target", "at": [0.0]}],
        "values": [0.0],
        "when": [
            {"any": [{"since": {"channel": "Button", "is": "off"}, "below": 2.0}]},
            {"channel": "X", "over": "Y", "above": 1.0},
        ],
        "until": {"channel": "Reset", "is": "on"},
    }
    correction = sheet(deep).spark.correction[0]
    found = missing_names(correction, log(X=[0.0]))
    assert set(found) == {"engine speed", "Target", "Button", "Y", "Reset"}
    assert len(found) == len(set(found))


@pytest.mark.parametrize("seconds", [0.1, 0.2, 0.3, 0.6, 0.7])
def test_spans_of_decimal_times_are_met_although_they_are_not_exact_in_binary(seconds):
    inputs = log(X=[float(n) for n in range(9)])
    known = ~np.isnan(read(reading(channel="X", rate=seconds), inputs))
    assert known.tolist() == [t >= seconds for t in (0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8)]


def test_a_clock_that_is_not_exact_in_binary_costs_no_sample():
    a_little_early = 0.3 - 1e-12
    inputs = log([0.0, 0.1, 0.2, a_little_early], X=[0.0, 1.0, 2.0, 3.0])
    assert shown(read(reading(channel="X", rate=0.3), inputs)) == [None, None, None, 10.0]


def test_since_is_counted_to_the_microsecond():
    inputs = log(X=[0, 0, 0, 0, 1, 1, 1, 1, 1])
    found = read(reading(since={"channel": "X", "is": "on"}), inputs)
    assert found[4:].tolist() == [0.0, 0.1, 0.2, 0.3, 0.4]  # 0.7 − 0.4 is a little less than 0.3


@pytest.mark.parametrize(
    ("keys", "beyond"),
    [
        ({"above": 130.0}, False),  # above its end is above that, too
        ({"below": 130.0}, False),
        ({"above": 140.0}, True),
        ({"below": 160.0}, True),
        ({"between": (100.0, 150.0)}, True),
        ({"above": 130.0, "release": 120.0}, False),
        ({"above": 130.0, "rate": 0.5}, True),
        ({"above": 1.2, "over": "barometric pressure"}, True),
    ],
)
def test_a_condition_goes_beyond_a_sensors_end_where_that_decides_it(keys, beyond):
    one = comparison(signal="manifold absolute pressure", unit="kPa", **keys)
    assert goes_beyond(one, 140.0, high=True) == beyond


def test_a_table_goes_beyond_a_sensors_end_where_it_has_points_there():
    for points, high, low in (([20, 60, 140], False, False), ([10, 60, 200], True, True)):
        axis = Axis.model_validate(
            {"signal": "manifold absolute pressure", "unit": "kPa", "at": tuple(points)}
        )
        assert goes_beyond(axis, 140.0, high=True) == high
        assert goes_beyond(axis, 20.0, high=False) == low
