"""Effects in the order in which they act, and what each posts; each sum worked out by hand."""

import numpy as np
import pytest

from tests.evaluate.bench import log, sheet, shown
from tuneledger.calibrations.model import Limits
from tuneledger.evaluate.replay import combine, contributions, replay

ON = [{"channel": "X", "is": "on"}]
GONE = [{"channel": "Not logged", "is": "on"}]
FIVE = {"effect": "replace", "amount": 5.0, "when": ON}
LIMITS = {"lowest": -8.0, "highest": 38.0}


def along_x(points, values):
    return {"axes": [{"channel": "X", "at": points}], "values": values}


def entries(*corrections, inputs, **spark):
    result = replay(sheet(*corrections, **spark), inputs)
    return {name: shown(values) for name, values in result.entries.items()}


def delivered(*corrections, inputs, **spark):
    return shown(replay(sheet(*corrections, **spark), inputs).delivered)


def test_adds_sum_to_what_is_delivered():
    assert delivered({"amount": -2.0}, {"amount": 1.5}, inputs=log(X=[0])) == [19.5]


def test_a_correction_that_is_switched_off_acts_only_where_it_is_switched_on_for_the_replay():
    car = sheet({"amount": -2.0}, {"amount": 1.5, "enabled": False})
    assert shown(replay(car, log(X=[0])).delivered) == [18.0]
    assert shown(replay(car, log(X=[0]), switched={"c2": True}).delivered) == [19.5]
    assert list(replay(car, log(X=[0]), switched={"c1": False}).entries) == []


def test_every_correction_contributes_as_if_it_were_enabled():
    (part,) = contributions(sheet({"amount": -2.0, "enabled": False}), log(X=[0]), file="d.toml")
    assert shown(part.values) == [-2.0]
    assert (part.source.file, part.source.revision) == ("d.toml", "A")
    assert part.source.place == "spark.correction[0]"


class TestBase:
    def test_without_weight_it_takes_the_place_of_the_map(self):
        base = {"effect": "base", "amount": 26.0, "when": ON}
        assert entries(base, inputs=log(X=[0, 1])) == {"c1": [0.0, 6.0]}
        assert delivered(base, inputs=log(X=[0, 1])) == [20.0, 26.0]

    def test_with_weight_it_is_blended_in(self):
        base = {"effect": "base", "amount": 30.0, "weight": along_x([10, 85], [0.0, 1.0])}
        assert entries(base, inputs=log(X=[10, 47.5, 85])) == {"c1": [0.0, 5.0, 10.0]}

    def test_a_later_one_takes_its_share_from_the_earlier(self):
        half = along_x([0, 1], [0.5, 0.5])
        first = {"effect": "base", "amount": 30.0, "weight": half}
        second = {"effect": "base", "amount": 10.0, "weight": half}
        # (20 + 30) / 2 = 25, (25 + 10) / 2 = 17.5: a quarter of 30 − 20, one half of 10 − 20
        assert entries(first, second, inputs=log(X=[0])) == {"c1": [2.5], "c2": [-5.0]}
        assert delivered(first, second, inputs=log(X=[0])) == [17.5]

    def test_a_full_one_leaves_nothing_to_the_earlier_known_or_not(self):
        first = {"effect": "base", "amount": 25.0}
        unsure = {"effect": "base", "amount": 30.0, "when": GONE}
        full = {"effect": "base", "amount": 10.0}
        found = entries(first, unsure, full, inputs=log(X=[0]))
        assert found == {"c1": [0.0], "c2": [0.0], "c3": [-10.0]}
        assert delivered(first, unsure, full, inputs=log(X=[0])) == [10.0]

    def test_what_is_not_blended_in_need_not_be_known(self):
        base = along_x([0, 1], ["?", 30.0]) | {"effect": "base"}
        base["weight"] = along_x([0, 1], [0.0, 1.0])
        assert entries(base, inputs=log(X=[0, 0.5, 1])) == {"c1": [0.0, None, 10.0]}

    def test_it_acts_before_adds_wherever_it_stands_in_the_sheet(self):
        base = {"effect": "base", "amount": 30.0}
        assert entries({"amount": -3.0}, base, inputs=log(X=[0])) == {"c1": [-3.0], "c2": [10.0]}


class TestCaps:
    def test_at_most_takes_what_stands_above_it_and_nothing_else(self):
        cap = {"effect": "at most", "amount": 17.0}
        assert entries(cap, {"amount": -2.0}, inputs=log(X=[0])) == {"c1": [-1.0], "c2": [-2.0]}
        assert entries(cap, {"amount": -5.0}, inputs=log(X=[0]))["c1"] == [0.0]

    def test_at_least_adds_what_stands_below_it(self):
        floor = {"effect": "at least", "amount": 17.0, "when": ON}
        assert entries(floor, {"amount": -5.0}, inputs=log(X=[0, 1]))["c1"] == [0.0, 2.0]

    def test_they_act_in_the_order_of_the_sheet(self):
        cap = {"effect": "at most", "amount": 12.0}
        floor = {"effect": "at least", "amount": 14.0}
        assert delivered(cap, floor, inputs=log(X=[0])) == [14.0]
        assert delivered(floor, cap, inputs=log(X=[0])) == [12.0]

    def test_a_cap_of_which_nobody_knows_whether_it_acts_leaves_delivered_unknown(self):
        cap = {"effect": "at most", "amount": 12.0, "when": GONE}
        found = entries(cap, {"amount": -1.0}, inputs=log(X=[0]))
        assert found == {"c1": [None], "c2": [-1.0]}
        assert delivered(cap, inputs=log(X=[0])) == [None]

    def test_an_idle_cap_posts_nothing_even_if_nobody_knows_what_stands(self):
        cap = {"effect": "at most", "amount": 12.0, "when": ON}
        assert entries({"when": GONE}, cap, inputs=log(X=[0]))["c2"] == [0.0]


class TestReplace:
    def test_it_takes_the_place_of_everything_and_every_other_entry_is_zero(self):
        inputs = log(X=[0, 1])
        found = entries({"amount": -3.0}, FIVE, inputs=inputs)
        assert found == {"c1": [-3.0, 0.0], "c2": [0.0, -15.0]}
        assert delivered({"amount": -3.0}, FIVE, inputs=inputs) == [17.0, 5.0]

    def test_the_last_active_one_wins(self):
        last = {"effect": "replace", "amount": -5.0, "when": [{"channel": "Y", "is": "on"}]}
        inputs = log(X=[1, 1, 0], Y=[0, 1, 1])
        found = entries(FIVE, last, inputs=inputs)
        assert found == {"c1": [-15.0, 0.0, 0.0], "c2": [0.0, -25.0, -25.0]}

    def test_where_it_rules_nothing_that_it_replaces_need_be_known(self):
        unknown_map = {"axes": [{"channel": "Not logged", "at": [0.0]}], "values": [0.0]}
        inputs = log(X=[0, 1])
        found = entries({"when": GONE}, FIVE, inputs=inputs)
        assert found == {"c1": [None, 0.0], "c2": [0.0, -15.0]}
        assert delivered({"when": GONE}, FIVE, inputs=inputs) == [None, 5.0]
        assert delivered(FIVE, inputs=inputs, map=unknown_map) == [None, 5.0]

    def test_while_nobody_knows_whether_it_rules_only_what_is_zero_either_way_is_known(self):
        unsure = {"effect": "replace", "amount": 5.0, "when": GONE}
        found = entries({"amount": -2.0}, {"amount": 0.0}, unsure, inputs=log(X=[0]))
        assert found == {"c1": [None], "c2": [0.0], "c3": [None]}
        assert delivered(unsure, inputs=log(X=[0])) == [None]

    def test_an_unsure_one_does_not_matter_where_a_later_one_rules(self):
        unsure = {"effect": "replace", "amount": 7.0, "when": GONE}
        inputs = log(X=[0, 1])
        assert delivered(unsure, FIVE, inputs=inputs) == [None, 5.0]
        assert entries(unsure, FIVE, inputs=inputs) == {"c1": [None, 0.0], "c2": [0.0, -15.0]}
        assert delivered(FIVE, unsure, inputs=inputs) == [None, None]

    def test_one_that_rules_with_an_unknown_value_still_silences_the_others(self):
        unknown = along_x([0], ["?"]) | {"effect": "replace", "when": ON}
        found = entries({"amount": -2.0}, unknown, inputs=log(X=[0, 1]))
        assert found == {"c1": [-2.0, 0.0], "c2": [0.0, None]}


class TestLimits:
    def test_they_come_last_and_what_they_take_is_an_entry(self):
        found = entries({"amount": 25.0}, inputs=log(X=[0]), limits=LIMITS)
        assert found == {"c1": [25.0], "limit": [-7.0]}
        assert delivered({"amount": 25.0}, inputs=log(X=[0]), limits=LIMITS) == [38.0]

    def test_they_hold_a_replacement_too(self):
        far = {"effect": "replace", "amount": -30.0}
        found = entries({"amount": -1.0}, far, inputs=log(X=[0]), limits=LIMITS)
        assert found == {"c1": [0.0], "c2": [-50.0], "limit": [22.0]}

    def test_without_limits_there_is_no_such_entry_and_one_of_the_two_may_be_absent(self):
        assert entries(inputs=log(X=[0])) == {}
        assert entries(inputs=log(X=[0]), limits={"highest": 15.0}) == {"limit": [-5.0]}
        assert entries(inputs=log(X=[0]), limits={"lowest": 22.0}) == {"limit": [2.0]}


class TestLogged:
    def part(self, correction, inputs):
        return contributions(sheet(correction), inputs)

    def test_a_logged_contribution_stands_in_for_an_add(self):
        inputs = log(X=[0, 0, 0])
        parts = self.part({"logged_as": "Knock share"}, inputs)
        start = np.full(3, 20.0)
        known = {"c1": np.array([0.0, -2.5, np.nan])}
        result = combine(start, parts, None, logged=known)
        assert shown(result.entries["c1"]) == [0.0, -2.5, None]
        assert shown(result.delivered) == [20.0, 17.5, None]

    def test_where_it_has_no_number_the_sheet_s_own_is_taken(self):
        parts = self.part({"amount": -4.0}, log(X=[0, 0]))
        result = combine(np.full(2, 20.0), parts, None, logged={"c1": np.array([-3.9, np.nan])})
        assert shown(result.entries["c1"]) == [-3.9, -4.0]

    def test_what_the_ecu_works_out_itself_is_known_from_the_log_alone(self):
        (part,) = self.part({"logged_as": "Knock share"}, log(X=[0]))
        assert not part.computable.any()
        assert part.missing == ()
        assert str(part.evidence) == "logged"


class TestStart:
    def test_an_account_may_start_from_a_logged_scheduled_advance(self):
        result = replay(sheet({"amount": -2.0}), log(X=[0, 0]), start=np.array([15.0, 16.0]))
        assert shown(result.scheduled) == [15.0, 16.0]
        assert shown(result.delivered) == [13.0, 14.0]

    def test_what_the_logged_scheduled_already_contains_does_not_act_twice(self):
        car = sheet({"amount": -2.0}, {"amount": -1.0}, scheduled_includes=["c1"])
        logged = replay(car, log(X=[0]), start=np.array([18.0]))
        assert {n: shown(e) for n, e in logged.entries.items()} == {"c1": [0.0], "c2": [-1.0]}
        assert shown(logged.delivered) == [17.0]
        assert shown(replay(car, log(X=[0])).delivered) == [17.0]

    def test_a_row_without_scheduled_has_no_delivered(self):
        result = replay(sheet({"amount": -2.0}), log(X=[0, 0]), start=np.array([np.nan, 16.0]))
        assert shown(result.delivered) == [None, 14.0]
        assert shown(result.entries["c1"]) == [-2.0, -2.0]


@pytest.mark.parametrize("effect", ["base", "add", "at most", "at least", "replace"])
@pytest.mark.parametrize("amount", [-30.0, 11.0, 50.0])
def test_scheduled_and_all_entries_make_delivered(effect, amount):
    car = sheet(
        {"effect": effect, "amount": amount, "when": ON},
        {"amount": -1.5},
        {"effect": "base", "amount": 26.0, "weight": {"amount": 0.3}},
        limits={"lowest": -8.0, "highest": 25.0},
    )
    result = replay(car, log(X=[0, 1, 0]))
    np.testing.assert_allclose(result.scheduled + sum(result.entries.values()), result.delivered)


def test_combining_changes_none_of_what_it_is_given():
    start = np.full(2, 20.0)
    parts = contributions(
        sheet({"amount": -2.0}, {"effect": "replace", "amount": 1.0}), log(X=[0, 0])
    )
    for array in (start, *(p.values for p in parts), *(p.active for p in parts)):
        array.setflags(write=False)
    combine(start, parts, Limits(lowest=0.0, highest=30.0))
