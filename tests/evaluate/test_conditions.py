"""Conditions and their memory, each sequence worked out by hand from the contract, section 2.

Samples are a tenth of a second apart. T true, F false, Q not known.
"""

import numpy as np
import pytest

from tests.evaluate.bench import F, Q, T, acts, condition, log, sheet, truth, when
from tests.inputs import TableInputs
from tuneledger.evaluate.conditions import holds
from tuneledger.evaluate.replay import contributions

RISING = {"channel": "X", "above": 55.0, "release": 50.0}
HELD = {"channel": "X", "is": "on", "held": 0.2}
LINGER = {"channel": "X", "is": "on", "linger": 0.2}
RELEASED = {"since": {"channel": "Button", "is": "off"}, "unit": "s", "below": 0.25}
ON = [{"channel": "X", "is": "on"}]
RESET = {"channel": "Reset", "is": "on"}


def test_above_and_below_are_strict_and_between_is_inclusive():
    inputs = log(X=[1, 2, 3, 4])
    assert when({"channel": "X", "above": 2.0}, inputs) == [F, F, T, T]
    assert when({"channel": "X", "below": 2.0}, inputs) == [T, F, F, F]
    assert when({"channel": "X", "between": [2.0, 3.0]}, inputs) == [F, T, T, F]


def test_a_switch_is_on_from_one_half_up_and_a_number_is_met_exactly():
    inputs = log(X=[0.0, 0.49, 0.5, 3.0, 3.01])
    assert when({"channel": "X", "is": "on"}, inputs) == [F, F, T, T, T]
    assert when({"channel": "X", "is": "off"}, inputs) == [T, T, F, F, F]
    assert when({"channel": "X", "is": 3.0}, inputs) == [F, F, F, T, F]


def test_a_threshold_is_in_the_sheet_s_unit_and_not_in_the_log_s():
    inputs = TableInputs([0, 1], {"oil pressure": ("psi", [14.0, 15.0])})  # 96.5 and 103.4 kPa
    low = {"signal": "oil pressure", "unit": "kPa", "below": 100.0}
    assert when(low, inputs) == [T, F]


def test_a_missing_sample_is_not_known_and_nothing_else_is():
    assert when({"channel": "X", "above": 1.0}, log(X=[2, None, 0])) == [T, Q, F]


class TestRelease:
    def test_once_true_it_stays_so_until_the_reading_passes_the_release(self):
        inputs = log(X=[40, 52, 56, 52, 50, 49.9, 52])
        assert when(RISING, inputs) == [F, F, T, T, T, F, F]

    def test_for_below_the_release_lies_above(self):
        falling = {"channel": "X", "below": 200.0, "release": 230.0}
        assert when(falling, log(X=[250, 220, 199, 220, 230, 230.1, 220])) == [F, F, T, T, T, F, F]

    def test_between_release_and_threshold_at_the_first_sample_nobody_knows(self):
        assert when(RISING, log(X=[52, 53, 49, 52])) == [Q, Q, F, F]
        assert when(RISING, log(X=[52, 53, 56, 52])) == [Q, Q, T, T]

    def test_after_a_gap_it_is_decided_only_where_the_reading_leaves_the_band(self):
        assert when(RISING, log(X=[56, None, 52, 56, None, 40])) == [T, Q, Q, T, Q, F]


class TestHeld:
    def test_it_counts_from_the_sample_at_which_it_turned_true_and_reaching_it_suffices(self):
        assert when(HELD, log(X=[0, 1, 1, 1, 1, 0, 1])) == [F, F, F, T, T, F, F]

    def test_at_the_first_sample_it_counts_from_there(self):
        assert when(HELD, log(X=[1, 1, 1, 0])) == [F, F, T, F]

    def test_it_goes_by_the_clock_and_not_by_samples(self):
        inputs = log([0.0, 0.01, 0.02, 0.15, 0.2, 0.21], X=[0, 1, 1, 1, 1, 1])
        assert when(HELD, inputs) == [F, F, F, F, F, T]

    def test_a_gap_matters_only_where_it_could_complete_the_time(self):
        inputs = log(X=[0, None, 1, 1, 1, 1])
        # from the gap on it may have been on for 0.2 s at 0.3 s, from 0.2 s on surely at 0.4 s
        assert when(HELD, inputs) == [F, F, F, Q, T, T]

    def test_a_condition_that_flickers_never_holds(self):
        assert when(HELD, log(X=[1, 0] * 8)) == [F] * 16


class TestLinger:
    def test_it_stays_true_for_its_time_from_the_sample_at_which_it_turned_false(self):
        assert when(LINGER, log(X=[1, 0, 0, 0, 1, 1, 0, 0, 0])) == [T, T, T, F, T, T, T, T, F]

    def test_what_may_linger_from_before_the_log_is_not_known(self):
        assert when(LINGER, log(X=[0, 0, 0, 0])) == [Q, Q, F, F]

    def test_after_a_gap_it_may_linger(self):
        inputs = log(X=[1, 0, 0, 0, None, 0, 0, 0])
        assert when(LINGER, inputs) == [T, T, T, F, Q, Q, Q, F]

    def test_held_comes_before_linger_and_hysteresis_before_both(self):
        all_three = {"channel": "X", "above": 55.0, "release": 50.0, "held": 0.2, "linger": 0.2}
        inputs = log(X=[0, 0, 0, 56, 52, 52, 0, 0, 0, 56, 0])
        # hysteresis true at 0.3 to 0.5 s, held at 0.5 s, lingering to 0.7 s; 0.9 s is too short
        assert when(all_three, inputs) == [Q, Q, F, F, F, T, T, T, F, F, F]


class TestAnyAndAll:
    def test_any_is_true_where_one_is_and_unknown_only_where_the_others_do_not_decide(self):
        either = {"any": [{"channel": "X", "is": "on"}, {"channel": "Y", "is": "on"}]}
        inputs = log(X=[1, 0, 0, 0, 1], Y=[0, 1, 0, None, None])
        assert when(either, inputs) == [T, T, F, Q, T]

    def test_one_false_condition_decides_over_an_unknown_one(self):
        both = [{"channel": "X", "is": "on"}, {"channel": "Y", "is": "on"}]
        inputs = log(X=[1, 1, 0, None], Y=[1, None, None, 0])
        assert acts(inputs, when=both) == [T, Q, F, F]

    def test_a_false_condition_decides_over_a_channel_that_the_log_does_not_carry(self):
        both = [{"channel": "X", "is": "on"}, {"channel": "Not logged", "is": "on"}]
        assert acts(log(X=[1, 0]), when=both) == [Q, F]

    def test_without_conditions_a_correction_always_applies(self):
        assert acts(log(X=[0, None])) == [T, T]


class TestSince:
    def test_true_for_a_while_after_a_button_is_let_go(self):
        assert when(RELEASED, log(Button=[0, 1, 1, 0, 0, 0, 0, 1, 0])) == [
            F, F, F, T, T, T, F, F, T,
        ]  # fmt: skip

    def test_a_condition_that_is_true_at_the_first_sample_has_not_turned_true(self):
        assert when(RELEASED, log(Button=[0, 0, 0])) == [F, F, F]

    def test_before_it_ever_turned_true_it_is_not_above_anything_either(self):
        settled = {"since": {"channel": "Run", "is": "on"}, "above": 0.15}
        assert when(settled, log(Run=[0, 0, 0, 1, 1, 1, 0])) == [F, F, F, F, F, T, T]

    def test_before_it_ever_turned_true_a_release_keeps_nothing(self):
        kept = {"since": {"channel": "Run", "is": "on"}, "above": 0.15, "release": 0.05}
        assert when(kept, log(Run=[0, 0, 1, 1, 1, 0, 1, 0])) == [F, F, F, F, T, T, F, F]

    def test_since_of_a_held_condition_counts_from_when_it_was_held_long_enough(self):
        late = {"since": {"channel": "X", "is": "on", "held": 0.2}, "below": 0.15}
        assert when(late, log(X=[0, 1, 1, 1, 1, 1])) == [F, F, F, T, T, F]


class TestCorrectionActive:
    def on_top(self, first, inputs, **switched):
        second = {"when": [{"correction": "c1", "is": "active"}]}
        return truth(contributions(sheet(first, second), inputs, switched=switched)[1])

    def test_it_follows_an_earlier_correction(self):
        first = {"when": [{"channel": "X", "is": "on"}]}
        assert self.on_top(first, log(X=[0, 1, None])) == [F, T, Q]

    def test_a_correction_that_is_switched_off_is_never_active(self):
        first = {"enabled": False}
        assert self.on_top(first, log(X=[1, None])) == [F, F]
        assert self.on_top(first, log(X=[1, None]), c1=True) == [T, T]
        assert self.on_top({}, log(X=[1, None]), c1=False) == [F, F]

    def test_it_is_active_though_its_value_is_not_known_or_zero(self):
        table = {"axes": [{"channel": "Not logged", "at": [0.0]}], "values": [0.0]}
        assert self.on_top(table, log(X=[0])) == [T]
        assert self.on_top({"amount": 0.0}, log(X=[0])) == [T]

    def test_of_what_the_ecu_works_out_itself_only_false_conditions_tell(self):
        knock = {"logged_as": "Knock share", "when": [{"channel": "X", "is": "on"}]}
        assert self.on_top(knock, log(X=[1, 0])) == [Q, F]

    def test_the_input_that_an_earlier_correction_lacks_is_missing_here_too(self):
        first = {"when": [{"channel": "Launch", "is": "on"}]}
        second = {"when": [{"any": [{"correction": "c1", "is": "active"}]}]}
        parts = contributions(sheet(first, second), log(X=[0]))
        assert [part.missing for part in parts] == [("Launch",), ("Launch",)]


class TestLatch:
    def test_once_active_it_stays_so_until_its_condition(self):
        inputs = log(X=[0, 1, 0, 0, 0, 1, 0], Reset=[1, 0, 0, 1, 0, 0, 0])
        assert acts(inputs, when=ON, until=RESET) == [F, T, T, F, F, T, T]

    def test_while_its_own_conditions_hold_it_is_active_whatever_until_says(self):
        inputs = log(X=[1, 1, 0, 0], Reset=[1, 1, 1, 0])
        assert acts(inputs, when=ON, until=RESET) == [T, T, F, F]

    def test_until_power_off_it_stays_so_to_the_end(self):
        inputs = log(X=[0, 1, 0, 0])
        assert acts(inputs, when=ON, until="power off") == [F, T, T, T]

    def test_whether_it_latched_before_the_log_is_not_known_until_one_of_both_is_seen(self):
        inputs = log(X=[0, 0, 0, 0, 1], Reset=[0, 0, 1, 0, 0])
        assert acts(inputs, when=ON, until=RESET) == [Q, Q, F, F, T]

    def test_a_gap_may_have_set_it(self):
        inputs = log(X=[0, None, 0, 0, 0], Reset=[1, 0, 0, 1, 0])
        assert acts(inputs, when=ON, until=RESET) == [F, Q, Q, F, F]

    def test_a_gap_may_have_reset_it(self):
        inputs = log(X=[1, 0, 0, 0], Reset=[0, None, 0, 1])
        assert acts(inputs, when=ON, until=RESET) == [T, Q, Q, F]


class TestHoldsForRules:
    """`holds` is also what a rule read out of a log is judged by."""

    def test_it_gives_truth_and_whether_it_is_known(self):
        rule = condition({"channel": "X", "above": 1.0})
        true, known = holds(rule, log(X=[2, None, 0]), {})
        assert true.tolist() == [T, F, F]
        assert known.tolist() == [T, F, T]

    def test_active_corrections_come_as_plain_columns(self):
        rule = condition({"correction": "launch", "is": "active"})
        inputs = log(X=[0, 0])
        true, known = holds(rule, inputs, {"launch": np.array([True, False])})
        assert (true.tolist(), known.all()) == ([T, F], True)
        _, known = holds(rule, inputs, {})
        assert not known.any()


@pytest.mark.parametrize(
    "memory",
    [
        {"above": 1.0, "release": 0.5},
        {"is": "on", "held": 0.1},
        {"is": "on", "linger": 0.1},
        {"is": "on", "held": 0.1, "linger": 0.2},
        {"above": 1.0, "rate": 0.1},
    ],
)
def test_no_memory_reads_ahead(memory):
    """What is true at a sample does not change with what comes after it."""
    random = np.random.default_rng(7)
    column = np.where(random.random(30) < 0.1, np.nan, random.integers(0, 3, 30))
    whole = when({"channel": "X"} | memory, log(X=column.tolist()))
    for length in range(1, 30):
        part = when({"channel": "X"} | memory, log(X=column[:length].tolist()))
        assert part == whole[:length]
