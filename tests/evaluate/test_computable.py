"""What is not computable, where, and for want of what."""

import numpy as np

from tests.evaluate.bench import T, log, sheet, shown, truth
from tests.inputs import TableInputs
from tuneledger.evaluate.replay import contributions, map_advance

MAP = {
    "axes": [
        {"signal": "manifold absolute pressure", "unit": "kPa", "at": [50.0, 100.0]},
        {"signal": "engine speed", "unit": "rpm", "at": [1000.0, 3000.0]},
    ],
    "values": [[20.0, 30.0], [10.0, 20.0]],
}
DRIVE = {
    "manifold absolute pressure": ("bar", [0.5, 0.75, 1.2]),
    "engine speed": ("rpm", [1000.0, 2000.0, None]),
}


def test_the_map_is_read_at_the_log_s_operating_points_whatever_their_units():
    values, missing = map_advance(sheet(map=MAP), TableInputs([0, 1, 2], DRIVE))
    assert shown(values) == [20.0, 20.0, None]
    assert missing == ()


def test_a_map_whose_input_the_log_lacks_has_no_values_and_says_what_it_lacks():
    only_speed = {"engine speed": DRIVE["engine speed"]}
    values, missing = map_advance(sheet(map=MAP), TableInputs([0, 1, 2], only_speed))
    assert np.isnan(values).all()
    assert missing == ("manifold absolute pressure",)


def test_an_input_that_the_log_lacks_is_not_computable_and_never_zero():
    warm = {"axes": [{"signal": "oil temperature", "at": [0.0, 100.0]}], "values": [0.0, 0.0]}
    (part,) = contributions(sheet(warm), log(X=[0, 0]))
    assert not part.computable.any()
    assert np.isnan(part.values).all()
    assert not part.active.any()
    assert part.missing == ("oil temperature",)


def test_where_conditions_are_false_nothing_need_be_known_of_the_table():
    warm = {"axes": [{"signal": "oil temperature", "at": [0.0]}], "values": [-2.0]}
    (part,) = contributions(sheet(warm | {"when": [{"channel": "X", "is": "on"}]}), log(X=[0, 1]))
    assert part.computable.tolist() == [True, False]
    assert shown(part.values) == [0.0, None]
    assert part.missing == ("oil temperature",)


def test_an_unknown_condition_is_not_computable_even_where_the_table_says_zero():
    unsure = {"amount": 0.0, "when": [{"channel": "Not logged", "is": "on"}]}
    (part,) = contributions(sheet(unsure), log(X=[0]))
    assert not part.computable.any()


def test_a_table_over_since_contributes_nothing_before_the_first_turn():
    after_start = {
        "axes": [{"since": {"channel": "Run", "is": "on"}, "at": [0.0, 0.4]}],
        "values": [-8.0, 0.0],
    }
    (part,) = contributions(sheet(after_start), log(Run=[1, 0, 1, 1, 1, 0]))
    assert shown(part.values) == [0.0, 0.0, -8.0, -6.0, -4.0, -2.0]
    assert part.active.tolist() == [False, False, True, True, True, True]
    assert part.computable.all()


def test_a_weight_over_since_blends_nothing_in_before_the_first_turn():
    base = {
        "effect": "base",
        "amount": 30.0,
        "weight": {
            "axes": [{"since": {"channel": "Run", "is": "on"}, "at": [0.0, 0.2]}],
            "values": [1.0, 0.0],
        },
    }
    (part,) = contributions(sheet(base), log(Run=[0, 1, 1, 1]))
    assert part.active.tolist() == [False, True, True, True]
    assert part.computable.all()
    assert shown(part.weight[1:]) == [1.0, 0.5, 0.0]


def test_a_base_of_which_nothing_is_blended_in_need_not_be_known():
    unknown = {"axes": [{"channel": "X", "at": [0.0]}], "values": ["?"]}
    share = {"axes": [{"channel": "X", "at": [0.0, 1.0]}], "values": [0.0, 1.0]}
    (part,) = contributions(sheet(unknown | {"effect": "base", "weight": share}), log(X=[0, 1]))
    assert part.computable.tolist() == [True, False]


def test_a_contribution_whose_value_is_unknown_is_still_known_to_be_active():
    (part,) = contributions(sheet({"amount": 0.0, "effect": "replace"}), log(X=[0]))
    assert truth(part) == [T]
    unknown = {"axes": [{"channel": "X", "at": [0.0]}], "values": ["?"], "effect": "replace"}
    (part,) = contributions(sheet(unknown), log(X=[0]))
    assert part.known is not None
    assert part.known.tolist() == [True]
    assert part.computable.tolist() == [False]


def test_a_log_of_one_sample_and_one_of_none_are_carried_out_too():
    everything = {
        "amount": -4.0,
        "when": [{"channel": "X", "rate": 0.1, "above": 1.0, "release": 0.0, "held": 0.1}],
        "until": {"since": {"channel": "X", "is": "on"}, "above": 1.0, "linger": 1.0},
        "ramp": 10.0,
    }
    for samples in (0, 1):
        (part,) = contributions(sheet(everything), log([0.0][:samples], X=[1.0][:samples]))
        assert part.values.size == samples
