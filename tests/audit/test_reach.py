"""How far each cell of a map can be moved: exact where it says so, a bound where it does not."""

from typing import Any

import numpy as np
import pytest

from tests.audit.sheets import MAP, small_sheet
from tuneledger.audit.reach.reach import Reach, reach_of
from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import FORMAT, Calibration


def sheet(*corrections: dict[str, Any], **spark: Any) -> Calibration:
    """A sheet whose map is 20° everywhere unless said otherwise, with corrections c1, c2, …"""
    named = [{"id": f"c{n}"} | c for n, c in enumerate(corrections, 1)]
    whole = {"map": {"amount": 20.0}, "correction": named} | spark
    return check({"format": FORMAT, "revision": "A", "spark": whole})


def ends(*corrections: dict[str, Any], **spark: Any) -> tuple[float, float]:
    """(lowest, highest) of a sheet of one cell, which is to be exact."""
    reach = reach_of(sheet(*corrections, **spark))
    assert reach.exact
    return float(reach.lowest.degrees), float(reach.highest.degrees)


def by(reach: Reach) -> tuple[list[str], list[str]]:
    return tuple([n for n, on in e.by.items() if on.any()] for e in (reach.lowest, reach.highest))  # type: ignore[return-value]


THROTTLE = {"signal": "throttle position", "unit": "%"}
COOLANT = {"signal": "engine coolant temperature", "unit": "degC"}
WET = {"channel": "Wet", "is": "on"}


def test_without_corrections_a_cell_delivers_its_map() -> None:
    reach = reach_of(sheet(map=MAP))
    assert np.array_equal(reach.lowest.degrees, reach.scheduled)
    assert np.array_equal(reach.highest.degrees, reach.scheduled)
    assert reach.exact


def test_a_threshold_is_strict_but_what_lies_just_above_it_is_reached() -> None:
    table = {"axes": [THROTTLE | {"at": [0.0, 100.0]}], "values": [0.0, 10.0]}
    assert ends(table | {"when": [THROTTLE | {"above": 50.0}]}) == (20.0, 30.0)
    lone = {"amount": -4.0, "when": [THROTTLE | {"above": 100.0}]}
    assert ends(lone) == (20.0, 20.0), "nothing lies above the most that a throttle can be"
    assert ends({"amount": -4.0, "when": [THROTTLE | {"between": [100.0, 120.0]}]}) == (16.0, 20.0)


def test_what_excludes_each_other_does_not_add_up() -> None:
    cold = {"amount": 3.0, "when": [COOLANT | {"below": 20.0}]}
    hot = {"amount": 4.0, "when": [COOLANT | {"above": 100.0}]}
    assert ends(cold, hot) == (20.0, 24.0)
    assert ends(cold, hot | {"when": [THROTTLE | {"above": 50.0}]}) == (20.0, 27.0)


def test_the_same_temperature_in_two_units_is_one_temperature() -> None:
    cold = {"amount": 3.0, "when": [COOLANT | {"below": 20.0}]}
    hot = {"amount": 4.0, "when": [{"signal": COOLANT["signal"], "unit": "degF", "above": 68.0}]}
    assert ends(cold, hot) == (20.0, 24.0)


def test_the_maps_own_input_stands_at_the_cell() -> None:
    fast = {"amount": -5.0, "when": [{"signal": "engine speed", "unit": "rpm", "above": 900.0}]}
    reach = reach_of(sheet(fast, map=MAP))
    assert (reach.lowest.degrees - reach.scheduled).tolist() == [[0.0, -5.0], [0.0, -5.0]]
    assert (reach.highest.degrees - reach.scheduled).tolist() == [[0.0, -5.0], [0.0, -5.0]]


def test_a_difference_with_a_fixed_speed_follows_the_other_quantity() -> None:
    governed = {"signal": "idle speed target", "minus": "engine speed", "unit": "rpm"}
    governor = {"axes": [governed | {"at": [-300.0, 0.0, 300.0]}], "values": [-6.0, 0.0, 6.0]}
    reach = reach_of(sheet(governor, map=MAP))
    assert reach.exact
    by_speed = (reach.lowest.degrees - reach.scheduled)[0].tolist()
    assert by_speed == pytest.approx([-6.0, -6.0])
    above = (reach.highest.degrees - reach.scheduled)[0].tolist()
    assert above == pytest.approx([6.0, -6.0]), "no target is within 300 rpm of 4000"


def test_inside_a_hysteresis_both_states_are_reached_if_it_can_ever_turn_on() -> None:
    def in_band(above: float) -> tuple[float, float]:
        kept = {
            "amount": -4.0,
            "when": [{"signal": "engine speed", "above": above, "release": 800.0}],
        }
        reach = reach_of(sheet(kept, map=MAP))
        return float(reach.lowest.degrees[0, 0]), float(reach.highest.degrees[0, 0])

    assert in_band(3000.0) == (14.0, 18.0)
    assert in_band(12000.0) == (18.0, 18.0), "the engine never turns so fast"


def test_of_two_hysteresis_the_stronger_is_never_on_without_the_weaker() -> None:
    weak = {"amount": -1.0, "when": [THROTTLE | {"above": 50.0, "release": 40.0}]}
    strong = {"amount": 4.0, "when": [THROTTLE | {"above": 60.0, "release": 45.0}]}
    assert ends(weak, strong) == (19.0, 23.0)


def test_timers_stand_anywhere_but_only_once_their_condition_can_hold() -> None:
    held = {"amount": -4.0, "when": [THROTTLE | {"above": 50.0, "held": 2.0}]}
    assert ends(held) == (16.0, 20.0)
    lingers = {"amount": -4.0, "when": [THROTTLE | {"above": 100.0, "linger": 2.0}]}
    assert ends(lingers) == (20.0, 20.0)
    two = [{"amount": a, "when": [WET | {"held": s}]} for a, s in ((-4.0, 1.0), (3.0, 2.0))]
    assert ends(*two) == (16.0, 20.0), "after 2 s it has also been 1 s"


def test_a_time_since_something_is_never_without_it() -> None:
    after = {
        "axes": [{"since": THROTTLE | {"above": 100.0}, "at": [0.0, 1.0]}],
        "values": [-5.0, -5.0],
    }
    assert ends(after) == (20.0, 20.0)
    after["axes"][0]["since"] = THROTTLE | {"above": 90.0}
    assert ends(after) == (15.0, 20.0)


def test_a_latch_is_free_once_it_can_close() -> None:
    low_oil = {"signal": "oil pressure", "unit": "kPa", "below": 100.0}
    latched = {"amount": -4.0, "when": [low_oil], "until": "power off"}
    healthy = {"amount": 1.0, "when": [low_oil | {"below": 2000.0}]}
    pressed = {"amount": 7.0, "when": [{"signal": "oil pressure", "unit": "kPa", "above": 500.0}]}
    assert ends(latched, pressed) == (16.0, 27.0)
    assert ends(latched | {"when": [low_oil | {"below": -1.0}]}, healthy) == (21.0, 21.0)


def test_a_condition_on_another_correction_is_that_corrections_own() -> None:
    first = {"amount": -2.0, "when": [WET]}
    follows = {"amount": -3.0, "when": [{"correction": "c1", "is": "active"}]}
    assert ends(first, follows) == (15.0, 20.0)
    assert ends(first | {"enabled": False}, follows) == (20.0, 20.0)
    instead = {"amount": 6.0, "when": [{"channel": "Wet", "is": "off"}]}
    assert ends(first, follows, instead) == (15.0, 26.0)


def test_a_change_is_what_it_is_less_what_it_was() -> None:
    opens = {"amount": -4.0, "when": [THROTTLE | {"rate": 0.5, "above": 100.0}]}
    nearly_shut = {"amount": -2.0, "when": [THROTTLE | {"below": 50.0}]}
    assert ends(opens, nearly_shut) == (16.0, 20.0), "by 100 % a second it is above half"
    assert ends(opens, nearly_shut | {"when": [THROTTLE | {"below": 51.0}]}) == (14.0, 20.0)


def test_caps_and_floors_hold_in_the_order_of_the_sheet() -> None:
    add = {"amount": 9.0, "when": [WET]}
    cap = {"effect": "at most", "amount": 24.0}
    floor = {"effect": "at least", "amount": 26.0}
    assert ends(add, cap) == (20.0, 24.0)
    assert ends(add, cap, floor) == (26.0, 26.0)
    assert ends(add, floor, cap) == (24.0, 24.0)


def test_where_a_cap_crosses_the_sum_the_highest_is_the_crossing() -> None:
    rises = {"axes": [COOLANT | {"at": [0.0, 100.0]}], "values": [0.0, 10.0]}
    falls = {"effect": "at most", "axes": [COOLANT | {"at": [0.0, 100.0]}], "values": [30.0, 20.0]}
    assert ends(rises, falls) == pytest.approx((20.0, 25.0))


def test_where_a_floor_crosses_the_sum_the_lowest_is_the_crossing_in_each_cell() -> None:
    """Over a difference with the speed, whose points lie elsewhere at every speed."""
    under = {"signal": "idle speed target", "minus": "engine speed", "unit": "rpm"}
    falls = {"axes": [under | {"at": [0.0, 300.0]}], "values": [0.0, -10.0]}
    rises = {"axes": [under | {"at": [0.0, 300.0]}], "values": [0.0, 30.0]}
    reach = reach_of(sheet(falls, rises | {"effect": "at least"}, map=MAP))
    assert reach.exact
    assert reach.lowest.degrees[0].tolist() == pytest.approx([18.0 - 10.0 * 0.45, 34.0])


def test_a_floor_over_a_second_quantity_crosses_the_sum_at_one_of_its_points() -> None:
    """At either end of the temperature another throttle makes the floor lowest."""
    at = [COOLANT | {"at": [0.0, 100.0]}, THROTTLE | {"at": [0.0, 100.0]}]
    floor = {"effect": "at least", "axes": at, "values": [[30.0, 10.0], [15.0, 30.0]]}
    falls = {"axes": [COOLANT | {"at": [0.0, 100.0]}], "values": [0.0, -20.0]}
    assert ends(falls, floor) == pytest.approx((15.0, 30.0))


def test_a_floor_that_crosses_over_two_quantities_gives_a_bound_that_is_one() -> None:
    both = [COOLANT | {"at": [0.0, 100.0]}, THROTTLE | {"at": [0.0, 100.0]}]
    falls = {"axes": both, "values": [[0.0, -5.0], [-5.0, -10.0]]}
    rises = {"axes": both, "values": [[8.0, 13.0], [13.0, 18.0]], "effect": "at least"}
    reach = reach_of(sheet(falls, rises))
    assert not reach.exact
    assert float(reach.lowest.degrees) <= 14.0
    assert float(reach.highest.degrees) == 20.0


def test_a_cap_and_a_sum_over_a_time_do_not_meet_on_the_way_to_never() -> None:
    began = {"since": WET, "at": [0.0, 10.0]}
    add = {"axes": [began], "values": [0.0, 10.0]}
    cap = {"axes": [began], "values": [22.0, 22.0], "effect": "at most"}
    assert ends(add, cap) == (20.0, 22.0)


def test_a_fixed_advance_stands_where_its_change_can_be() -> None:
    """By 100 % a second the throttle is above half by now, where the table has 5°."""
    table = {"axes": [THROTTLE | {"at": [0.0, 50.0]}], "values": [40.0, 5.0]}
    opens = {"effect": "replace", "when": [THROTTLE | {"rate": 0.5, "above": 100.0}]}
    assert ends(table | opens) == (5.0, 20.0)


def test_a_blend_over_two_quantities_is_exact_and_over_one_a_bound() -> None:
    ethanol = {"axes": [{"signal": "ethanol content", "at": [0.0, 100.0]}], "values": [0.0, 1.0]}
    second = {"effect": "base", "axes": [COOLANT | {"at": [0.0, 100.0]}], "values": [10.0, 40.0]}
    assert ends(second | {"weight": ethanol}) == (10.0, 40.0)
    curved = reach_of(
        sheet(second | {"weight": ethanol | {"axes": [COOLANT | {"at": [0.0, 100.0]}]}})
    )
    assert not curved.exact
    assert curved.lowest.degrees <= 18.3, "−5/3 at a quarter of the way: less than at both ends"


def test_while_a_replacement_rules_nothing_else_counts_but_limits() -> None:
    add = {"amount": 9.0, "when": [WET]}
    first = {"effect": "replace", "amount": 50.0, "when": [WET]}
    last = {"effect": "replace", "amount": 5.0, "when": [WET]}
    assert ends(add, first, last) == (5.0, 20.0)
    assert ends(add, first, limits={"highest": 30.0, "lowest": 21.0}) == (21.0, 30.0)


def test_what_the_ecu_works_out_lies_anywhere_in_its_range() -> None:
    assert ends({"range": [-8.0, 1.0]}) == (12.0, 21.0)
    unknown = reach_of(sheet({"logged_as": "Knock retard"}))
    assert not unknown.exact


def test_a_cell_that_nobody_knows_has_no_reach() -> None:
    reach = reach_of(sheet(map=MAP | {"values": [["?", 34.0], [9.0, 20.0]]}))
    assert np.isnan(reach.lowest.degrees).tolist() == [[True, False], [False, False]]


def test_the_combination_that_gets_there_is_named() -> None:
    retard, raise_ = (
        {"amount": -4.0, "when": [WET]},
        {"amount": 2.0, "when": [THROTTLE | {"above": 9.0}]},
    )
    assert by(reach_of(sheet(retard, raise_))) == (["c1"], ["c2"])
    assert by(reach_of(sheet(retard, limits={"lowest": 18.0})))[0] == ["c1", "limit"]
    ruled = {"effect": "replace", "amount": 5.0, "when": [WET]}
    assert by(reach_of(sheet(retard, ruled)))[0] == ["c2"]


@pytest.mark.parametrize("seed", range(30))
def test_the_named_combination_alone_reaches_as_far(seed: int) -> None:
    """Switching off what has no share in a cell's highest leaves it the highest."""
    drawn = small_sheet(seed)
    reach = reach_of(drawn)
    names = {n for n, cells in reach.highest.by.items() if cells[0, 0]}
    named = {c for condition in drawn.spark.correction for c in str(condition.when).split("'")}
    raw = drawn.model_dump(by_alias=True, exclude_none=True)
    kept = [
        c if c["id"] in names or c["id"] in named else c | {"enabled": False}
        for c in raw["spark"]["correction"]
    ]
    again = reach_of(check(raw | {"spark": raw["spark"] | {"correction": kept}}))
    assert again.highest.degrees[0, 0] >= reach.highest.degrees[0, 0] - 1e-9
