"""A mapping chooses parameters into a sheet: units, signs, turned axes, switches; its faults."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.calibrations.asam import kestrel
from tests.calibrations.asam.making import image
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.asam.a2l.description import read_description
from tuneledger.calibrations.asam.a2l.store import Described
from tuneledger.calibrations.asam.a2l.tokens import Page
from tuneledger.calibrations.asam.mapping.choose import Chosen, choose
from tuneledger.calibrations.asam.parameter import (
    NotRepresentedError,
    Parameter,
    ParameterAxis,
)
from tuneledger.calibrations.text import parse
from tuneledger.errors import SheetError

ROOT = Path(__file__).parents[3]


def test_kestrels_example_gives_the_sheet_of_the_demo() -> None:
    description = read_description(Page(kestrel.DESCRIPTION, "kestrel.a2l"), {})
    store = Described(description, image(kestrel.memory()))
    chosen = choose(parse(kestrel.MAPPING), store, "mapping.toml")
    assert chosen.calibration == open_calibration(ROOT / "demo" / "rev-d.toml")
    assert chosen.notes == ()


def test_the_examples_files_are_those_that_its_script_makes() -> None:
    for name, text in kestrel.FILES.items():
        there = (ROOT / "demo" / "described" / name).read_text(encoding="utf-8")
        assert there == text(), f"python -m tests.calibrations.asam.kestrel demo/described ({name})"


# --- on a store made by hand ---------------------------------------------------------------------


class Made:
    """A store of parameters by name."""

    notes = ()
    holds = ""

    def __init__(self, *parameters: Parameter) -> None:
        self.by_name = {one.name: one for one in parameters}

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(self.by_name)

    def entries(self) -> Any:
        return iter(())

    def get(self, name: str) -> Parameter:
        if name == "GONE":
            raise NotRepresentedError("its conversion is a formula")
        return self.by_name[name]


def made(name: str, values: Any, unit: str = "", *axes: ParameterAxis, **more: Any) -> Parameter:
    array = np.asarray(values, dtype=np.float64)
    kind = ("value", "curve" if axes else "axis", "map" if axes else "block")[array.ndim]
    return Parameter(name, more.pop("kind", kind), array, unit, axes=axes, **more)


def axis(points: list[float], unit: str = "") -> ParameterAxis:
    return ParameterAxis(np.asarray(points, dtype=np.float64), unit)


SPEED = ParameterAxis(np.asarray([1000.0, 2000.0, 3000.0]), "1/min", "nEngine")
LOAD = axis([400, 800], "hPa")
BASE = made("BASE", [[10, 5], [20, 15], [30, 25]], "°", SPEED, LOAD)  # x speed, y load
SHEET = """
format = "tuneledger-calibration/1"
revision = "A"
[spark.map]
axes = [
  { signal = "manifold absolute pressure", unit = "kPa", axis = "y" },
  { signal = "engine speed", axis = "x" },
]
values = { characteristic = "BASE" }
"""


def chosen(*parameters: Parameter, more: str = "", sheet: str = SHEET) -> Chosen:
    return choose(parse(sheet + more), Made(BASE, *parameters), "mapping.toml")


def faults(*parameters: Parameter, more: str = "", sheet: str = SHEET) -> list[str]:
    with pytest.raises(SheetError) as caught:
        chosen(*parameters, more=more, sheet=sheet)
    return [str(fault).removeprefix("mapping.toml: ") for fault in caught.value.faults]


def test_a_map_is_turned_as_the_sheet_has_its_axes_and_units_are_turned_too() -> None:
    table = chosen().calibration.spark.map
    assert table.grid.tolist() == [[10, 20, 30], [5, 15, 25]]
    assert [(a.unit, a.at) for a in table.axes] == [("kPa", (40, 80)), ("rpm", (1000, 2000, 3000))]


def test_falling_points_are_turned_round_with_their_values() -> None:
    falling = made("C", [1, 2, 3], "deg", axis([90, 50, 20], "°C"))
    table = chosen(falling, more=correction('values = { characteristic = "C" }')).calibration
    assert table.spark.correction[0].axes[0].at == (20, 50, 90)
    assert table.spark.correction[0].grid.tolist() == [3, 2, 1]


def correction(numbers: str, reading: str = "") -> str:
    axes = (
        f'axes = [{{ signal = "intake air temperature"{reading} }}]' if "values" in numbers else ""
    )
    return f'\n[[spark.correction]]\nid = "c"\n{axes}\n{numbers}\n'


def test_points_that_stand_twice_with_the_same_values_stand_once() -> None:
    padded = made("C", [1, 2, 2], "deg", axis([20, 50, 50], "°C"))
    found = chosen(padded, more=correction('values = { characteristic = "C" }'))
    assert found.calibration.spark.correction[0].axes[0].at == (20, 50)
    assert "1 point of x that stood twice" in found.notes[0]
    torn = made("C", [1, 2, 3], "deg", axis([20, 50, 50], "°C"))
    told = faults(torn, more=correction('values = { characteristic = "C" }'))
    assert told == ["spark.correction[0].axes[0].at[2]: 50 does not rise above 50"]


def test_retard_that_is_counted_positive_is_taken_away() -> None:
    retard = made("R", 4.5, "deg")
    found = chosen(retard, more=correction('amount = { characteristic = "R", times = -1 }'))
    assert found.calibration.spark.correction[0].amount == -4.5


@pytest.mark.parametrize(
    ("parameter", "unit", "value", "note"),
    [
        (made("T", 60.0, "°C"), "", 60.0, ()),
        (made("T", 140.0, "degF"), ', unit = "degC"', 60.0, ()),
        (made("T", 60.0, "grads"), ', unit = "degC"', 60.0, ('its unit "grads" is not known',)),
        (made("T", 60.0, ""), ', unit = "degC"', 60.0, ("it has no unit",)),
    ],
)
def test_thresholds_come_in_the_unit_of_their_reading(
    parameter: Parameter, unit: str, value: float, note: tuple[str, ...]
) -> None:
    when = f'{{ signal = "oil temperature"{unit}, above = {{ characteristic = "T" }} }}'
    found = chosen(parameter, more=correction(f"amount = -1.0\nwhen = [{when}]"))
    condition = found.calibration.spark.correction[0].when[0]
    assert (condition.above, condition.unit) == (value, "degC")  # type: ignore[union-attr]
    assert len(found.notes) == len(note)
    assert all(part in found.notes[0] for part in note)


def test_every_place_of_a_condition_and_a_limit_may_be_named() -> None:
    names = {"A": 50.0, "B": 45.0, "C": 500.0, "D": 2.0}
    units = {"A": "%", "B": "%", "C": "ms", "D": "s"}
    when = (
        '{ signal = "throttle position", above = { characteristic = "A" }, '
        'release = { characteristic = "B" }, held = { characteristic = "C" }, '
        'linger = { characteristic = "D" } }'
    )
    between = (
        '{ signal = "throttle position", between = '
        '[{ characteristic = "B" }, { characteristic = "A" }] }'
    )
    more = correction(f"amount = -1.0\nwhen = [{when}, {{ any = [{between}] }}]")
    found = chosen(*(made(n, v, units[n]) for n, v in names.items()), more=more)
    first, other = found.calibration.spark.correction[0].when
    assert (first.above, first.release, first.held, first.linger) == (50, 45, 0.5, 2)  # type: ignore[union-attr]
    assert other.any[0].between == (45, 50)  # type: ignore[union-attr]


def test_a_weight_is_a_share_and_a_percentage_becomes_one() -> None:
    share = made("W", [0, 100], "%", axis([10, 85], "%"))
    more = correction("amount = 20.0\neffect = 'base'") + (
        "[spark.correction.weight]\n"
        'axes = [{ signal = "ethanol content" }]\nvalues = { characteristic = "W" }\n'
    )
    weight = chosen(share, more=more).calibration.spark.correction[0].weight
    assert weight is not None
    assert weight.grid.tolist() == [0, 1]


@pytest.mark.parametrize(
    ("parameter", "said", "on"),
    [
        (made("S", 1.0, words=("Aktiv",)), ', on = "Aktiv"', True),
        (made("S", 1.0, words=("Gesperrt",)), ', on = "Aktiv"', False),
        (made("S", 1.0), "", True),
        (made("S", 0.0), "", False),
        (made("S", 2.0), ", on = 2", True),
    ],
)
def test_switches_are_words_or_numbers(parameter: Parameter, said: str, on: bool) -> None:
    more = correction(f'amount = 1.0\nenabled = {{ characteristic = "S"{said} }}')
    assert chosen(parameter, more=more).calibration.spark.correction[0].enabled is on


def test_a_revision_may_be_read_out_of_the_image() -> None:
    mark = made("MARK", [], kind="text", text="D2")
    sheet = SHEET.replace('"A"', '{ characteristic = "MARK" }')
    assert chosen(mark, sheet=sheet).calibration.revision == "D2"


def test_where_every_number_is_from_stands_at_the_head_of_the_sheet() -> None:
    text = chosen().text("a.a2l and a.hex")
    assert text.startswith("# Made of a.a2l and a.hex.\n# spark.map.values  BASE, ")
    assert parse(text)["revision"] == "A"


@pytest.mark.parametrize(
    ("parameters", "more", "says"),
    [
        ((), correction('amount = { characteristic = "BASF" }'), 'Did you mean "BASE"?'),
        ((), correction('amount = { characteristic = "GONE" }'), "its conversion is a formula"),
        ((), correction('amount = { characteristic = "BASE" }'), '"BASE" is a map; expected one'),
        (
            (made("V", 1.0, "deg"),),
            correction('amount = { characteristic = "V", time = 2 }'),
            'unknown key. Did you mean "times"?',
        ),
        ((), correction("amount = { characteristic = 3 }"), "a name is missing"),
        (
            (),
            correction('amount = { characteristic = "BASE", times = true }'),
            "times is no number",
        ),
        ((), correction('values = { characteristic = "BASE" }'), "a map over 2 axes"),
        (
            (made("V", 1.0, "deg"),),
            correction('values = { characteristic = "V" }'),
            "Write amount instead of values",
        ),
        (
            (made("B", [1, 2], kind="block"),),
            correction('values = { characteristic = "B" }'),
            '"B" has no points of its own along x',
        ),
        (
            (made("B", [1, 2], "deg", axis([10, 20], "Um/p")),),
            correction('values = { characteristic = "B" }'),
            'has unit "Um/p", which is not known. Write unit = "degC" there',
        ),
        (
            (made("B", [1, 2], "%", axis([10, 20], "°C")),),
            correction('values = { characteristic = "B" }'),
            '"B" is in "%"; expected a unit like deg',
        ),
        (
            (made("S", 1.0, words=("Aktiv",)),),
            correction('amount = 1.0\nenabled = { characteristic = "S" }'),
            'If that means on, say on = "Aktiv"',
        ),
        (
            (made("S", 1.0, words=("Aktiv",)),),
            correction('amount = { characteristic = "S" }'),
            'is the word "Aktiv"; expected a number',
        ),
        (
            (made("S", 7.0),),
            correction('amount = 1.0\nenabled = { characteristic = "S" }'),
            "expected 0 or 1, or on = NUMBER",
        ),
        (
            (made("S", 1.0),),
            correction('amount = 1.0\nenabled = { characteristic = "S", on = "wet" }'),
            '"S" is the number 1 in the file, no word; expected on = NUMBER. Say the number that '
            'means "wet"',
        ),
    ],
)
def test_every_fault_is_told_with_its_place(
    parameters: tuple[Parameter, ...], more: str, says: str
) -> None:
    told = faults(*parameters, more=more)
    assert len(told) == 1
    assert says in told[0]
    assert told[0].startswith("spark.correction[0]")


def test_a_map_that_does_not_say_which_axis_is_which_is_not_guessed() -> None:
    told = faults(sheet=SHEET.replace(', axis = "y"', ""))
    assert len(told) == 1
    assert 'expected axis = "x" and axis = "y", each in one of the axes' in told[0]
    assert told[0].endswith("Its x reads nEngine in 1/min and y reads something in hPa.")


def test_all_faults_are_told_at_once() -> None:
    more = correction('amount = { characteristic = "GONE" }\nenabled = { characteristic = "NO" }')
    assert len(faults(more=more)) == 2


def test_what_cannot_be_filled_hides_no_fault_of_the_sheet() -> None:
    """Unknown words, keys, names and signals at once, and not what merely waits for numbers."""
    sheet = SHEET.replace('"BASE"', '"BASF"').replace("revision", "revison")
    more = correction(
        'reason = "hot"\namount = { characteristic = "NO", tims = 2 }\n'
        'when = [{ signal = "engine sped", above = { characteristic = "NO" } }]\nenabeld = true'
    )
    assert [one.partition(":")[0] for one in faults(sheet=sheet, more=more)] == [
        "revison",
        "spark.map.values",
        "spark.correction[0].reason",
        "spark.correction[0].amount",
        "spark.correction[0].amount.tims",
        "spark.correction[0].when[0].signal",
        "spark.correction[0].when[0].above",
        "spark.correction[0].enabeld",
    ]


def test_absolute_and_gauge_pressure_are_not_taken_for_each_other() -> None:
    when = '{ signal = "oil pressure", unit = "kPaa", above = { characteristic = "P" } }'
    told = faults(made("P", 1.0, "barg"), more=correction(f"amount = -1.0\nwhen = [{when}]"))
    assert '"P" is in "barg"' in told[0]


def test_what_was_assumed_stands_in_the_head_of_the_sheet() -> None:
    unknown = made("R", [0.0, -4.0], "furlong", axis([20.0, 60.0], "degC"))
    told = chosen(unknown, more=correction('values = { characteristic = "R" }'))
    head = told.text("a.cdfx by mapping.toml").partition("\nformat")[0].splitlines()
    assert '# Assumed: R: its unit "furlong" is not known; taken as deg' in head
