"""The contract, section 2, sentence by sentence: what each comes to on a run of a few samples.

The map says 20 degrees everywhere, samples are a tenth of a second apart, and every sum was worked
out by hand. `Q` is a sample that cannot be computed.
"""

import numpy as np
import pytest

from tests.evaluate.bench import log, sheet, shown
from tuneledger.evaluate.replay import contributions, replay

Q = None
X = {"channel": "X"}
ON = [X | {"is": "on"}]
RESET = {"channel": "Reset", "is": "on"}


def add(amount: float = -4.0, **more: object) -> dict[str, object]:
    return {"amount": amount, **more}


def along(points: list[float], values: list[object]) -> dict[str, object]:
    return {"axes": [X | {"at": points}], "values": values}


Correction = dict[str, object]
Numbers = list[float | None]
SENTENCES: list[tuple[str, list[Correction], dict[str, Numbers], Numbers]] = [
    ("look-up is multilinear between points", [along([0, 10], [0.0, -5.0])],
     {"X": [0, 5, 10]}, [20, 17.5, 15]),
    ("and holds the end values outside", [along([0, 10], [1.0, -5.0])],
     {"X": [-9, 99]}, [21, 15]),
    ("amount stands for a table that is one number", [add(-2.0)], {"X": [0, 1]}, [18, 18]),
    ("a cell that nobody knows: what needs it is not computable", [along([0, 10], [-1.0, "?"])],
     {"X": [0, 5, 10]}, [19, Q, Q]),
    ("minus another", [add(when=[X | {"minus": "Y", "above": 5.0}])],
     {"X": [9, 9], "Y": [5, 3]}, [20, 16]),
    ("over another (the ratio)", [add(when=[X | {"over": "Y", "above": 1.0}])],
     {"X": [9, 9, 9], "Y": [10, 8, 0]}, [20, 16, Q]),
    ("rate: its change per second, over that many seconds",
     [add(when=[X | {"rate": 0.2, "above": 20.0}])], {"X": [0, 0, 0, 3, 6, 6]},
     [Q, Q, 20, 20, 16, 20]),
    ("since: the seconds since that condition last turned true",
     [add(when=[{"since": ON[0], "below": 0.15}])], {"X": [0, 1, 1, 1, 0, 1]},
     [20, 16, 16, 20, 20, 16]),
    ("before it ever has, the correction contributes nothing, whichever way it compares",
     [add(when=[{"since": ON[0], "above": -1.0}])], {"X": [0, 0, 1]}, [20, 20, 16]),
    ("before it ever has: a table over it as well",
     [{"axes": [{"since": ON[0], "at": [0, 9]}], "values": [-4.0, -4.0]}], {"X": [0, 1, 0]},
     [20, 16, 16]),
    ("a switch is on from 0.5 up", [add(when=ON)], {"X": [0.49, 0.5]}, [20, 16]),
    ("above, below (strict)", [add(when=[X | {"above": 5.0}]), add(1.0, when=[X | {"below": 5.0}])],
     {"X": [4, 5, 6]}, [21, 20, 16]),
    ("between (inclusive)", [add(when=[X | {"between": [2.0, 4.0]}])],
     {"X": [1, 2, 4, 5]}, [20, 16, 16, 20]),
    ("is a number", [add(when=[X | {"is": 3.0}])], {"X": [2, 3, 3.5]}, [20, 16, 20]),
    ("release: once true it stays true until the reading passes x the other way; equality keeps it",
     [add(when=[X | {"above": 55.0, "release": 50.0}])], {"X": [40, 56, 52, 50, 49, 52]},
     [20, 16, 16, 16, 20, 20]),
    ("release below: the other way round", [add(when=[X | {"below": 10.0, "release": 15.0}])],
     {"X": [20, 9, 12, 15, 16, 12]}, [20, 16, 16, 16, 20, 20]),
    ("held needs it true for that long first", [add(when=[ON[0] | {"held": 0.2}])],
     {"X": [0, 1, 1, 1, 0, 1]}, [20, 20, 20, 16, 20, 20]),
    ("linger keeps it true that long after", [add(when=[ON[0] | {"linger": 0.2}])],
     {"X": [1, 0, 0, 0]}, [16, 16, 16, 20]),
    ("any is true where one of them is", [add(when=[{"any": [ON[0], RESET]}])],
     {"X": [0, 1, 0], "Reset": [0, 0, 1]}, [20, 16, 16]),
    ("correction is active, where an earlier one of the sheet is",
     [add(0.0, when=ON), add(when=[{"correction": "c1", "is": "active"}])],
     {"X": [0, 1]}, [20, 16]),
    ("… which the ECU works out itself: where the channel that carries it shows it at work",
     [{"logged_as": "Pull"}, add(when=[{"correction": "c1", "is": "active"}])],
     {"X": [0, 0, 0], "Pull": [0, -1.5, 0]}, [Q, Q, Q]),
    ("when is a list that must all be true", [add(when=[ON[0], RESET])],
     {"X": [0, 1, 1], "Reset": [1, 0, 1]}, [20, 20, 16]),
    ("without it the correction always applies", [add()], {"X": [0, 1]}, [16, 16]),
    ("until latches: once active it stays so until the condition", [add(when=ON, until=RESET)],
     {"X": [1, 0, 0, 0], "Reset": [0, 0, 1, 0]}, [16, 16, 20, 20]),
    ("until: what was before the first sample is unknown", [add(when=ON, until=RESET)],
     {"X": [0, 0, 0], "Reset": [0, 1, 0]}, [Q, 20, 20]),
    ("until power off", [add(when=ON, until="power off")], {"X": [0, 1, 0, 0]}, [20, 16, 16, 16]),
    ("base: its value takes the place of the map", [add(26.0, effect="base", when=ON)],
     {"X": [0, 1]}, [20, 26]),
    ("base with weight: it is blended in",
     [add(30.0, effect="base", weight=along([0, 10], [0.0, 1.0]))],
     {"X": [0, 5, 10]}, [20, 25, 30]),
    ("add comes after every base, wherever it stands in the sheet",
     [add(-3.0), add(26.0, effect="base")], {"X": [0]}, [23]),
    ("at most holds what stands so far below its value", [add(15.0, effect="at most"), add(-2.0)],
     {"X": [0]}, [15]),
    ("at least holds it above", [add(24.0, effect="at least"), add(-2.0)], {"X": [0]}, [24]),
    ("at most and at least act on what stands so far: in the order of the sheet",
     [add(15.0, effect="at most"), add(18.0, effect="at least")], {"X": [0]}, [18]),
    ("… and the other way round",
     [add(18.0, effect="at least"), add(15.0, effect="at most")], {"X": [0]}, [15]),
    ("replace takes the place of everything, the last active one wins",
     [add(5.0, effect="replace"), add(8.0, effect="replace", when=ON),
      add(30.0, effect="at least")],
     {"X": [0, 1]}, [5, 8]),
    ("ramp limits how fast the contribution may change; it starts at its target",
     [add(when=ON, ramp=10.0)], {"X": [1, 0, 0, 1]}, [16, 17, 18, 17]),
    ("ramp down and up", [add(when=ON, ramp={"down": 20.0, "up": 10.0})],
     {"X": [0, 1, 1, 0]}, [20, 18, 16, 17]),
    ("ramp after what could not be computed: known again once it must have arrived",
     [add(when=ON, ramp=20.0)], {"X": [0, Q, 1, 1, 1]}, [20, Q, Q, 16, 16]),
    ("a condition already true at the first sample has not turned true for since",
     [add(when=[{"since": ON[0], "below": 9.0}])], {"X": [1, 1, 0, 1]}, [20, 20, 20, 16]),
    ("held counts from the first sample", [add(when=[ON[0] | {"held": 0.2}])],
     {"X": [1, 1, 1]}, [20, 20, 16]),
    ("where the past matters the first moments are not computable: a hysteresis band",
     [add(when=[X | {"above": 55.0, "release": 50.0}])], {"X": [52, 52, 49, 52]}, [Q, Q, 20, 20]),
    ("… and a linger", [add(when=[ON[0] | {"linger": 0.2}])], {"X": [0, 0, 0]}, [Q, Q, 20]),
    ("an input that the log lacks gives not computable, never zero", [add(when=[RESET])],
     {"X": [0, 1]}, [Q, Q]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("corrections", "columns", "expected"),
    [pytest.param(*row[1:], id=row[0]) for row in SENTENCES],
)
def test_what_a_sentence_comes_to(
    corrections: list[dict[str, object]],
    columns: dict[str, list[float | None]],
    expected: list[float | None],
) -> None:
    found = replay(sheet(*corrections), log(**columns)).delivered
    assert shown(found) == expected


def test_limits_come_last_and_hold_a_replacement_too() -> None:
    car = sheet(add(50.0, effect="replace", when=ON), limits={"lowest": -8.0, "highest": 38.0})
    played = replay(car, log(X=[0, 1]))
    assert shown(played.delivered) == [20.0, 38.0]
    assert shown(played.entries["limit"]) == [0.0, -12.0]


def test_entries_a_base_its_share_a_cap_what_it_cut_a_replacement_its_value_minus_the_map() -> None:
    car = sheet(
        add(30.0, effect="base", weight=along([0, 1], [0.5, 0.5])), add(-3.0),
        add(18.0, effect="at most"), add(12.0, effect="replace", when=ON),
    )  # fmt: skip
    entries = replay(car, log(X=[0, 1])).entries
    assert {name: shown(e) for name, e in entries.items()} == {
        "c1": [5.0, 0.0], "c2": [-3.0, 0.0], "c3": [-4.0, 0.0], "c4": [0.0, -8.0]
    }  # fmt: skip


def test_scheduled_that_already_includes_a_correction_does_not_get_it_twice() -> None:
    car = sheet(add(-3.0), scheduled_includes=("c1",))
    start = np.array([17.0, 17.0])
    assert shown(replay(car, log(X=[0, 1]), start=start).delivered) == [17.0, 17.0]


def test_a_correction_that_the_ecu_works_out_itself_is_at_work_where_its_channel_is_not_zero() -> (
    None
):
    car = sheet({"logged_as": "Pull"}, add(when=[{"correction": "c1", "is": "active"}]))
    _, second = contributions(car, log(X=[0, 0, 0], Pull=[0.0, -1.5, None]))
    assert shown(second.values) == [0.0, -4.0, None]


def test_without_that_channel_nobody_knows_whether_it_is_at_work() -> None:
    car = sheet({"logged_as": "Not there"}, add(when=[{"correction": "c1", "is": "active"}]))
    _, second = contributions(car, log(X=[0, 1]))
    assert not second.computable.any()
