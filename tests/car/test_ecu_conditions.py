"""Conditions and their memory, each sequence worked out by hand from CONTRACT section 2."""

import pytest

from tests.car.bench import entry, run, sheet

TENTHS = [round(0.1 * n, 1) for n in range(10)]


def on(condition: dict[str, object], column: list[float | None], times: list[float] = TENTHS):
    """Where −4 degrees act under one condition on channel X."""
    steps = run(sheet({"amount": -4.0, "when": [condition]}), times, {"X": column})
    return ["?" if e is None else e != 0 for e in entry(steps)]


T, F, Q = True, False, "?"


def test_above_and_below_are_strict_and_between_is_inclusive():
    column = [1, 2, 3, 4]
    assert on({"channel": "X", "above": 2.0}, column, TENTHS[:4]) == [F, F, T, T]
    assert on({"channel": "X", "below": 2.0}, column, TENTHS[:4]) == [T, F, F, F]
    assert on({"channel": "X", "between": [2.0, 3.0]}, column, TENTHS[:4]) == [F, T, T, F]


def test_a_switch_is_on_from_one_half_up_and_a_number_must_be_met():
    column = [0.0, 0.49, 0.5, 3.0]
    assert on({"channel": "X", "is": "on"}, column, TENTHS[:4]) == [F, F, T, T]
    assert on({"channel": "X", "is": "off"}, column, TENTHS[:4]) == [T, T, F, F]
    assert on({"channel": "X", "is": 3.0}, column, TENTHS[:4]) == [F, F, F, T]


def test_release_keeps_a_condition_true_until_the_reading_passes_it():
    rising = {"channel": "X", "above": 55.0, "release": 50.0}
    assert on(rising, [40, 52, 56, 52, 50, 49.9, 52], TENTHS[:7]) == [F, F, T, T, T, F, F]
    falling = {"channel": "X", "below": 200.0, "release": 230.0}
    assert on(falling, [250, 220, 199, 220, 230, 230.1, 220], TENTHS[:7]) == [F, F, T, T, T, F, F]


def test_inside_the_hysteresis_band_at_the_first_sample_nobody_knows():
    rising = {"channel": "X", "above": 55.0, "release": 50.0}
    assert on(rising, [52, 53, 49, 52, 56, 52], TENTHS[:6]) == [Q, Q, F, F, T, T]


def test_held_counts_from_the_first_sample_or_from_the_turn():
    held = {"channel": "X", "above": 1.0, "held": 0.2}
    assert on(held, [2, 2, 2, 0, 2, 2, 2, 2, 0, 2]) == [F, F, T, F, F, F, T, T, F, F]


def test_linger_keeps_it_true_for_its_time_after_the_turn():
    linger = {"channel": "X", "above": 1.0, "linger": 0.2}
    assert on(linger, [2, 0, 0, 0, 2, 0, 0, 0, 0, 0]) == [T, T, T, F, T, T, T, F, F, F]


def test_what_lingers_from_before_the_log_is_not_known():
    linger = {"channel": "X", "above": 1.0, "linger": 0.2}
    assert on(linger, [0, 0, 0, 0], TENTHS[:4]) == [Q, Q, F, F]


def test_a_held_and_lingering_condition_must_first_have_been_held():
    both = {"channel": "X", "above": 1.0, "held": 0.2, "linger": 0.3}
    column = [0, 0, 0, 2, 0, 2, 2, 2, 0, 0]
    assert on(both, column) == [Q, Q, Q, F, F, F, F, T, T, T]


def test_a_missing_sample_is_not_known_and_spoils_no_more_than_it_must():
    assert on({"channel": "X", "above": 1.0}, [2, None, 0], TENTHS[:3]) == [T, Q, F]
    held = {"channel": "X", "above": 1.0, "held": 0.3}
    # one gap cannot make up 0.3 s by itself; after it the run may or may not be one
    assert on(held, [0, 0, None, 2, 2, 2, 2, 2, 0, 0]) == [F, F, F, F, F, Q, T, T, F, F]


def test_any_is_true_where_one_is_and_unknown_only_where_that_decides():
    any_of = {"any": [{"channel": "X", "above": 5.0}, {"channel": "Y", "is": "on"}]}
    steps = run(
        sheet({"amount": -4.0, "when": [any_of]}),
        TENTHS[:4],
        {"X": [6, 0, 6, 0], "Y": [0, 1, None, None]},
    )
    assert entry(steps) == [-4.0, -4.0, -4.0, None]


def test_when_must_be_true_throughout_and_a_false_one_decides_over_an_unknown_one():
    when = [{"channel": "X", "is": "on"}, {"channel": "Y", "above": 1.0}]
    steps = run(
        sheet({"amount": -4.0, "when": when}),
        TENTHS[:4],
        {"X": [1, 1, 0, None], "Y": [2, None, None, 0]},
    )
    assert entry(steps) == [-4.0, None, 0.0, 0.0]


def test_an_input_that_the_log_lacks_is_not_zero():
    steps = run(sheet({"amount": -4.0, "when": [{"channel": "Wet", "is": "on"}]}), [0.0], {})
    assert entry(steps) == [None]
    assert steps[0].delivered is None


def test_since_counts_from_the_turn_and_never_before_the_first():
    since = {"since": {"channel": "X", "is": "on"}, "unit": "s", "below": 0.25}
    # on at the first sample has not turned on; the turn at 0.4 s counts, and so does the next
    assert on(since, [1, 1, 0, 0, 1, 1, 1, 1, 0, 1]) == [F, F, F, F, T, T, T, F, F, T]


def test_a_table_over_since_contributes_nothing_before_the_first_turn():
    c = {
        "axes": [{"since": {"channel": "X", "is": "on"}, "unit": "s", "at": [0.0, 0.4]}],
        "values": [-8.0, 0.0],
    }
    steps = run(sheet(c), TENTHS[:6], {"X": [1, 0, 1, 1, 1, 0]})
    assert entry(steps) == [0.0, 0.0, -8.0, -6.0, -4.0, -2.0]


def test_since_is_unknown_where_the_turn_may_have_fallen_into_a_gap():
    c = {
        "axes": [{"since": {"channel": "X", "is": "on"}, "unit": "s", "at": [0.0, 1.0]}],
        "values": [-10.0, 0.0],
    }
    steps = run(sheet(c), TENTHS[:6], {"X": [0, None, 1, 1, 0, 1]})
    assert entry(steps) == [0.0, None, None, None, None, -10.0]


def test_correction_active_follows_an_earlier_correction_latch_included():
    first = {"amount": -1.0, "when": [{"channel": "X", "is": "on"}], "until": "power off"}
    second = {"amount": -2.0, "when": [{"correction": "c1", "is": "active"}]}
    steps = run(sheet(first, second), TENTHS[:4], {"X": [0, 1, 0, 0]})
    assert entry(steps, "c2") == [0.0, -2.0, -2.0, -2.0]


def test_a_latch_stays_until_its_condition_and_its_own_conditions_come_first():
    c = {
        "amount": -4.0,
        "when": [{"channel": "X", "above": 10.0}],
        "until": {"channel": "Reset", "is": "on"},
    }
    columns = {"X": [0, 11, 0, 0, 0, 11, 0], "Reset": [0, 0, 0, 1, 0, 1, 0]}
    steps = run(sheet(c), TENTHS[:7], columns)
    # whether something latched before the log is not known until one of the two is seen true
    assert entry(steps) == [None, -4.0, -4.0, 0.0, 0.0, -4.0, -4.0]


def test_rate_is_the_change_per_second_over_its_span():
    when = [{"channel": "X", "rate": 0.2, "above": 10.0}]
    steps = run(sheet({"amount": -4.0, "when": when}), TENTHS[:6], {"X": [0, 0, 0, 3, 6, 6]})
    # per second over 0.2 s:                        unknown, unknown, 0, 15, 30, 15
    assert entry(steps) == [None, None, 0.0, -4.0, -4.0, -4.0]


def test_rate_looks_between_samples_where_its_span_falls_between_them():
    axes = [{"channel": "X", "rate": 0.15, "at": [0.0, 100.0]}]
    steps = run(sheet({"axes": axes, "values": [0.0, 100.0]}), TENTHS[:4], {"X": [0, 1, 4, 9]})
    assert entry(steps)[2:] == pytest.approx([(4 - 0.5) / 0.15, (9 - 2.5) / 0.15])


def test_minus_and_over_take_a_second_reading():
    gap = {
        "axes": [{"signal": "idle speed target", "minus": "engine speed", "at": [-100.0, 100.0]}],
        "values": [-5.0, 5.0],
    }
    ratio = {"amount": -3.0, "when": [{"channel": "P2", "over": "P1", "above": 1.5}]}
    steps = run(
        sheet(gap, ratio),
        TENTHS[:3],
        {"idle speed target": [900] * 3, "engine speed": [900, 940, 800], "P2": [100, 160, 160],
         "P1": [100, 100, 0]},
    )  # fmt: skip
    assert entry(steps, "c1") == [0.0, -2.0, 5.0]
    assert entry(steps, "c2") == [0.0, -3.0, None]
