"""Tables, effects, ramps and limits, each sequence worked out by hand from CONTRACT section 2."""

import pytest

from tests.car.bench import delivered, entry, run, sheet

ON = [{"channel": "X", "is": "on"}]


def at(*numbers: float) -> dict[str, list[float]]:
    return {"X": list(numbers)}


def line(points: list[float], values: list[object], channel: str = "X") -> dict[str, object]:
    return {"axes": [{"channel": channel, "at": points}], "values": values}


def test_one_axis_is_linear_between_points_and_holds_its_ends():
    steps = run(sheet(line([20, 40, 60], [0.0, -2.0, -5.0])), [0, 1, 2, 3], at(10, 30, 50, 90))
    assert entry(steps) == [0.0, -1.0, -3.5, -5.0]


def test_two_and_three_axes_are_multilinear():
    axes = [{"channel": n, "at": [0.0, 1.0]} for n in "XYZ"]
    two = {"axes": axes[:2], "values": [[0.0, 1.0], [2.0, 5.0]]}
    three = {"axes": axes, "values": [[[0.0, 1.0], [2.0, 3.0]], [[4.0, 5.0], [6.0, 15.0]]]}
    steps = run(sheet(two, three), [0.0], {"X": [0.5], "Y": [0.5], "Z": [0.5]})
    assert entry(steps, "c1") == [2.0]
    assert entry(steps, "c2") == [4.5]


def test_an_unknown_cell_spoils_only_what_needs_it():
    steps = run(sheet(line([0, 1, 2], [0.0, -1.0, "?"])), range(5), at(0.5, 1.0, 1.01, 2.0, 3.0))
    assert entry(steps) == [-0.5, -1.0, None, None, None]


def test_corrections_add_up_and_disabled_ones_post_nothing():
    a = {"amount": -2.0}
    b = {"amount": 1.5, "enabled": False}
    assert delivered(run(sheet(a, b), [0.0], {})) == [18.0]
    assert delivered(run(sheet(a, b), [0.0], {}, as_if_enabled=["c2"])) == [19.5]


def test_a_full_base_takes_the_place_of_the_map():
    steps = run(sheet({"effect": "base", "amount": 26.0, "when": ON}), [0, 1], at(0, 1))
    assert entry(steps) == [0.0, 6.0]
    assert delivered(steps) == [20.0, 26.0]


def test_a_weighted_base_is_blended_in():
    c = {"effect": "base", "amount": 30.0, "weight": line([10, 85], [0.0, 1.0])}
    assert delivered(run(sheet(c), [0, 1, 2], at(10, 47.5, 85))) == [20.0, 25.0, 30.0]


def test_a_later_base_takes_its_share_from_the_earlier_one():
    half = line([0, 1], [0.5, 0.5])
    first = {"effect": "base", "amount": 30.0, "weight": half}
    second = {"effect": "base", "amount": 10.0, "weight": half}
    steps = run(sheet(first, second), [0.0], at(0))
    # (20 + 30) / 2 = 25, (25 + 10) / 2 = 17.5: shares ¼ of (30 − 20) and ½ of (10 − 20)
    assert (entry(steps, "c1"), entry(steps, "c2")) == ([2.5], [-5.0])
    assert delivered(steps) == [17.5]


def test_caps_cut_what_stands_after_adds_one_after_the_other_as_the_sheet_has_them():
    cap = {"effect": "at most", "amount": 12.0}
    floor = {"effect": "at least", "amount": 14.0, "when": ON}
    add = {"amount": -3.0}
    steps = run(sheet(cap, floor, add), [0, 1], at(0, 1))
    assert entry(steps, "c3") == [-3.0, -3.0]
    assert entry(steps, "c1") == [-5.0, -5.0]
    assert entry(steps, "c2") == [0.0, 2.0]
    steps = run(sheet(floor, cap, add), [0, 1], at(0, 1))
    assert entry(steps, "c1") == [0.0, 0.0]  # the floor comes first here, and finds 17
    assert entry(steps, "c2") == [-5.0, -5.0]
    assert delivered(steps) == [12.0, 12.0]


def test_a_cap_above_what_stands_cuts_nothing():
    assert entry(run(sheet({"effect": "at most", "amount": 25.0}), [0.0], {})) == [0.0]


def test_the_last_active_replacement_wins_and_silences_every_other_entry():
    add = {"amount": -3.0}
    one = {"effect": "replace", "amount": 5.0}
    two = {"effect": "replace", "amount": -5.0, "when": ON}
    steps = run(sheet(add, one, two), [0, 1], at(0, 1))
    assert [entry(steps, c) for c in ("c1", "c2", "c3")] == [[0.0, 0.0], [-15.0, 0.0], [0.0, -25.0]]
    assert delivered(steps) == [5.0, -5.0]


def test_limits_come_last_and_hold_a_replacement_too():
    steps = run(
        sheet({"effect": "replace", "amount": -30.0, "when": ON}, {"amount": 25.0},
              limits={"lowest": -8.0, "highest": 38.0}),
        [0, 1],
        at(0, 1),
    )  # fmt: skip
    assert delivered(steps) == [38.0, -8.0]
    assert entry(steps, "limit") == [-7.0, 22.0]
    assert entry(steps, "c1") == [0.0, -50.0]


def test_an_unknown_replacement_leaves_only_zeros_known():
    steps = run(sheet({"amount": -2.0}, {"amount": 0.0}, {"effect": "replace", "amount": 0.0,
                "when": ON}), [0.0], {})  # fmt: skip
    assert [entry(steps, c) for c in ("c1", "c2", "c3")] == [[None], [0.0], [None]]


def test_a_replacement_delivers_though_the_map_is_not_known_there():
    steps = run(
        sheet({"effect": "replace", "amount": 4.0}, map={"amount": 0.0, "axes": []}), [0], {}
    )
    assert delivered(steps) == [4.0]
    unknown = {"axes": [{"signal": "engine speed", "at": [0.0]}], "values": ["?"]}
    steps = run(
        sheet({"effect": "replace", "amount": 4.0}, map=unknown), [0], {"engine speed": [1]}
    )
    assert (delivered(steps), entry(steps)) == ([4.0], [None])


def test_a_ramp_starts_at_its_target_and_then_limits_both_ways():
    c = {"amount": -6.0, "when": ON, "ramp": {"down": 20.0, "up": 10.0}}
    steps = run(sheet(c), [0.0, 0.1, 0.2, 0.4, 0.6, 0.7], at(1, 0, 0, 1, 1, 0))
    assert entry(steps) == [-6.0, -5.0, -4.0, -6.0, -6.0, -5.0]


def test_one_number_for_a_ramp_goes_for_both_ways():
    steps = run(
        sheet({"amount": -6.0, "when": ON, "ramp": 10.0}), [0.0, 0.1, 0.2, 0.3], at(0, 1, 1, 0)
    )
    assert entry(steps) == [0.0, -1.0, -2.0, -1.0]


def test_a_ramp_is_known_again_once_it_must_have_arrived():
    c = {"amount": -6.0, "when": ON, "ramp": 10.0}
    steps = run(sheet(c), [0.0, 0.1, 0.2, 0.8, 0.9], {"X": [0, None, 1, 1, 0]})
    assert entry(steps) == [0.0, None, None, -6.0, -5.0]


def test_a_correction_that_the_ecu_works_out_itself_is_known_from_the_log_alone():
    knock = {"reason": "knock", "logged_as": "Knock share"}
    steps = run(sheet(knock), [0, 1], {"Knock share": [0.0, -2.5]})
    assert delivered(steps) == [20.0, 17.5]
    assert entry(run(sheet(knock), [0.0], {})) == [None]


def test_what_scheduled_already_contains_posts_nothing_against_a_logged_scheduled():
    from tuneledger.car.ecu import Ecu
    from tuneledger.car.sheets import calibration

    c = sheet({"amount": -2.0}, {"amount": -1.0}, scheduled_includes=["c1"])
    step = Ecu(calibration(c)).step(0.0, lambda *_: None, scheduled=18.0)
    assert step.entries == {"c1": 0.0, "c2": -1.0}
    assert step.delivered == 17.0


@pytest.mark.parametrize("effect", ["base", "add", "at most", "at least", "replace"])
def test_scheduled_and_entries_make_delivered_for_every_effect(effect):
    steps = run(sheet({"effect": effect, "amount": 11.0, "when": ON}, {"amount": -1.0},
                      limits={"highest": 15.0}), [0, 1], at(0, 1))  # fmt: skip
    for step in steps:
        assert step.scheduled + sum(step.entries.values()) == pytest.approx(step.delivered)
