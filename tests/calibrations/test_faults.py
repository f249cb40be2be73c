"""Every kind of fault in a sheet is refused, with its place, what is there and what to do."""

# ruff: noqa: E501 (a fault stands on one line, as a person sees it)

import pytest

from tests.calibrations.sheets import (
    MAP,
    RPM,
    TOP,
    faults_in,
    faults_of,
    sheet_of,
    with_corrections,
)
from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import FORMAT, REASONS
from tuneledger.errors import Fault, SheetError


def test_a_sheet_without_fault_has_none() -> None:
    assert faults_of(with_corrections("amount = -4")) == []
    assert sheet_of(TOP + MAP).spark.map.grid == 20.0


@pytest.mark.parametrize(
    ("points", "fault"),
    [
        ("20, 40, 60, 60", "at[3]: 60 does not rise above 60"),
        ("20, 40, 39.5, 60", "at[2]: 39.5 does not rise above 40"),
        ("-20, -40, 0, 1", "at[1]: −40 does not rise above −20"),
    ],
)
def test_the_points_of_an_axis_must_rise(points: str, fault: str) -> None:
    body = f"axes = [{{{RPM}, at = [{points}]}}]\nvalues = [0, 0, 0, 0]"
    assert faults_in(body) == [f"axes[0].{fault}"]


def test_the_path_leads_to_the_third_correction_and_the_fourth_point() -> None:
    bad = f"axes = [{{{RPM}, at = [20, 40, 60, 60]}}]\nvalues = [0, 0, 0, 0]"
    text = with_corrections("amount = 1", "amount = 2", bad)
    assert faults_of(text) == ["spark.correction[2].axes[0].at[3]: 60 does not rise above 60"]


ONE_AXIS = f"axes = [{{{RPM}, at = [1, 2, 3]}}]\n"
TWO_AXES = f'axes = [{{{RPM}, at = [1, 2, 3]}}, {{channel = "Boost", at = [1, 2]}}]\n'
CELL = 'expected a number, or "?" where it is not known'


@pytest.mark.parametrize(
    ("body", "faults"),
    [
        ("values = [1, 2]", ["values: 2 values; expected 3, one for each point of axes[0] (engine speed)"]),
        ('values = [1, "x", true]', [f'values[1]: "x"; {CELL}', f"values[2]: true; {CELL}"]),
        ("values = [1, nan, inf]", [f"values[1]: nan; {CELL}", f"values[2]: inf; {CELL}"]),
        ('values = [1, 2, ["?"]]', [f"values[2]: a list of 1; {CELL}"]),
        ("values = 3", ["values: 3; expected a list in square brackets"]),
        ("amount = 3", ["amount: an amount beside a table. Keep one of the two."]),
    ],
)  # fmt: skip
def test_values_along_one_axis(body: str, faults: list[str]) -> None:
    assert faults_in(ONE_AXIS + body) == faults


@pytest.mark.parametrize(
    ("values", "faults"),
    [
        (
            "[[1, 2, 3], [4, 5, 6]]",
            [
                "values: 2 rows of 3; expected 3 rows of 2, one row for each point of axes[0]. "
                "Turn the table round, or let the two axes change places."
            ],
        ),
        (
            "[[1, 2], [1, 2, 3]]",
            [
                "values: 2 rows; expected 3, one for each point of axes[0] (engine speed)",
                "values[1]: 3 values; expected 2, one for each point of axes[1] (Boost)",
            ],
        ),
        ("[1, 2, 3]", ["values: a flat list; expected 3 rows, each a list of its own"]),
        ('[[1, 2], 3, [1, "?"]]', ["values[1]: 3; expected a list of 2 values"]),
        ("[[1, 2], [3, 4], [5, 1e999]]", [f"values[2][1]: inf; {CELL}"]),
    ],
)
def test_values_along_two_axes(values: str, faults: list[str]) -> None:
    assert faults_in(f"{TWO_AXES}values = {values}") == faults


def test_three_axes_nest_three_deep_and_a_fourth_is_one_too_many() -> None:
    axis = f"{{{RPM}, at = [1, 2]}}"
    cube = "[[[1, 2], [3, 4]], [[5, 6], [7, 8]]]"
    assert faults_in(f"axes = [{axis}, {axis}, {axis}]\nvalues = {cube}") == []
    assert faults_in(f"axes = [{axis}, {axis}, {axis}]\nvalues = [[[1, 2], [3]], 4]") == [
        "values[0][1]: 1 value; expected 2, one for each point of axes[2] (engine speed)",
        "values[1]: 4; expected a list of 2 rows",
    ]
    four = f"axes = [{axis}, {axis}, {axis}, {axis}]\nvalues = [{cube}, {cube}]"
    assert faults_in(four) == ["axes: 4 axes; expected one to three"]


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        (ONE_AXIS, "axes without values; expected values in the shape of the axes"),
        ("values = [1, 2]", "values: values without axes; expected axes. For one number, write amount."),
        ("amount = true", "amount: true; expected a number"),
        ('amount = "3"', 'amount: "3"; expected a number'),
        ("amount = nan", "amount: nan; expected a finite number"),
        ("amount = -inf", "amount: −inf; expected a finite number"),
        (f"amount = 1{'0' * 400}", "amount: a number too large to use; expected a number"),
        ("axes = 3\nvalues = [1]", "axes: 3; expected a list in square brackets"),
        (f"axes = [{{{RPM}, at = []}}]\nvalues = []", "axes[0].at: an empty list; expected the points of the axis, a rising list of numbers"),
        (f"axes = [{{{RPM}}}]\nvalues = [1]", "axes[0].at: missing; expected the points of the axis, a rising list of numbers"),
        (f"axes = [{{{RPM}, at = [1, '2']}}]\nvalues = [1, 2]", 'axes[0].at[1]: "2"; expected a number'),
    ],
)  # fmt: skip
def test_a_table_that_is_not_one(body: str, fault: str) -> None:
    found = [f.removeprefix("spark.correction[0]: ") for f in faults_in(body)]
    assert found == [fault]


def test_a_map_needs_numbers() -> None:
    numbers = "expected axes and values, or an amount"
    assert faults_of(f"{TOP}[spark.map]\n") == [f"spark.map: a map without numbers; {numbers}"]
    assert faults_of(f"{TOP}[spark]\n") == [
        "spark.map: missing; expected the table that the engine is meant to get"
    ]


@pytest.mark.parametrize("effect", ["base", "at most", "at least", "replace"])
def test_only_an_add_may_have_no_number(effect: str) -> None:
    assert faults_in(f'effect = "{effect}"\nlogged_as = "K"') == [
        f'spark.correction[0]: effect "{effect}" without a number; '
        "expected axes and values, or an amount"
    ]
    assert faults_in('effect = "add"\nlogged_as = "Knock share"') == []
    assert faults_in("range = [-8, 0]") == []
    assert faults_in("") == [
        "spark.correction[0]: neither a table nor an amount; expected axes and values, or an "
        "amount, or logged_as or range for what the ECU works out itself"
    ]


def test_a_weight_is_a_share_and_belongs_to_a_base() -> None:
    axis = '{signal = "ethanol content", unit = "%", at = [0, 85]}'
    over = f'effect = "base"\namount = 30\nweight = {{axes = [{axis}], values = [-0.1, 1.5]}}'
    assert faults_in(over) == [
        "weight.values[0]: a weight of −0.1; expected a share from 0 to 1",
        "weight.values[1]: a weight of 1.5; expected a share from 0 to 1",
    ]
    assert faults_in("amount = 3\nweight = {amount = 1}") == [
        'weight: weight on effect "add"; expected weight only on effect "base"'
    ]
    assert faults_in('effect = "base"\namount = 3\nweight = {}') == [
        "weight: a weight without a number; expected axes and values, or an amount"
    ]
    good = f'effect = "base"\namount = 30\nweight = {{axes = [{axis}], values = ["?", 1]}}'
    assert faults_in(good) == []


def test_a_ramp_belongs_to_an_add_and_is_above_zero() -> None:
    assert faults_in('effect = "at most"\namount = 3\nramp = 2') == [
        'ramp: ramp on effect "at most"; expected ramp only on effect "add"'
    ]
    both = "expected degrees per second above 0, or { down = …, up = … }"
    assert faults_in("amount = 3\nramp = 0") == [f"ramp: 0; {both}"]
    assert faults_in('amount = 3\nramp = "fast"') == [f'ramp: "fast"; {both}']
    assert faults_in("amount = 3\nramp = { down = 0, sideways = 2 }") == [
        "ramp.down: 0; expected a number above 0",
        "ramp.sideways: unknown key. Known here are down and up.",
        "ramp.up: missing",
    ]


def test_ids_are_unique_and_some_are_taken() -> None:
    text = with_corrections(*(f'id = "{name}"\namount = 1' for name in ("rain", "rain", "limit",
        "Other-Map", "rule-7", " x", "a\\nb", "")))  # fmt: skip
    taken = "Choose another: limit, other-map and rule-… are taken by the ledger."
    hidden = "the id has spaces at an end, or signs that cannot be seen; expected a plain id"
    assert [fault.removeprefix("spark.correction") for fault in faults_of(text)] == [
        '[1].id: the id "rain" stands twice, first at spark.correction[0]. '
        "Give one of them another id.",
        f'[2].id: the id "limit" is taken. {taken}',
        f'[3].id: the id "Other-Map" is taken. {taken}',
        f'[4].id: the id "rule-7" is taken. {taken}',
        f"[5].id: {hidden}",
        f"[6].id: {hidden}",
        '[7].id: ""; expected a name of its own for the correction, text in quotes',
    ]
    assert faults_of(TOP + MAP + "[[spark.correction]]\namount = 1\n") == [
        "spark.correction[0].id: missing; "
        "expected a name of its own for the correction, text in quotes"
    ]


@pytest.mark.parametrize(
    "name", ["=cmd|' /C calc'!A0", "+add", "-4", "@SUM(A1)", "＝1", "|x", "'x"]
)
def test_an_id_that_a_spreadsheet_may_run_is_refused(name: str) -> None:
    assert faults_of(with_corrections(f'id = "{name}"\namount = 1')) == [
        f'spark.correction[0].id: the id "{name}" begins with "{name[0]}"; '
        "expected a letter, a digit or _ at its beginning"
    ]


@pytest.mark.parametrize("name", ["wet road", "4wd", "_own", "Zünd.korr[2]", "点火", "наддув-1"])
def test_an_id_may_be_in_any_language(name: str) -> None:
    assert faults_of(with_corrections(f'id = "{name}"\namount = 1')) == []


def test_closed_lists_of_words_are_listed_or_the_nearest_is_named() -> None:
    reasons = f"expected one of {', '.join(REASONS[:-1])} or {REASONS[-1]}"
    assert faults_in('amount = 1\nreason = "nock"') == [
        f'reason: "nock"; {reasons}. Did you mean "knock"?'
    ]
    assert faults_in('amount = 1\nreason = "zzz"') == [f'reason: "zzz"; {reasons}']
    assert faults_in('amount = 1\neffect = "multiply"') == [
        'effect: "multiply"; expected one of base, add, at most, at least or replace'
    ]
    assert faults_in("amount = 1\neffect = 3") == [
        'effect: 3; expected "base", "add", "at most", "at least" or "replace"'
    ]


def test_types_of_the_rest() -> None:
    text = TOP + 'saved = "May"\ntitle = 3\n' + (
        '[engine]\ncylinders = 4.5\nfuel = 3\nredline_rpm = -1\nredline = 7000\n'
        '[spark]\ncomplete = "yes"\nlimits = { lowest = 3, highest = 1 }\n'
        'scheduled_includes = ["etanol", 4]\nmap = {amount = 1}\n'
        '[[spark.correction]]\nid = "ethanol"\namount = 1\nenabled = 1\nexpected = true\n'
        'logged_as = ""\nrange = [1, -2]\nenabeld = true\n'
    )  # fmt: skip
    correction = "spark.correction[0]"
    assert faults_of(text) == [
        'saved: "May"; expected a date, or a date with a time, without quotes',
        "title: 3; expected text in quotes",
        "engine.cylinders: 4.5; expected a whole number",
        "engine.fuel: 3; expected text in quotes",
        "engine.redline_rpm: −1; expected a number above 0",
        'engine.redline: unknown key. Did you mean "redline_rpm"?',
        'spark.complete: "yes"; expected true or false, without quotes',
        "spark.limits: lowest 3 is above highest 1",
        'spark.scheduled_includes[0]: no correction "etanol". Did you mean "ethanol"?',
        "spark.scheduled_includes[1]: 4; expected text in quotes",
        f"{correction}.enabled: 1; expected true or false, without quotes",
        f"{correction}.expected: true; expected text in quotes",
        f'{correction}.logged_as: ""; expected some text',
        f"{correction}.range: 1 is above −2; expected the lower number first",
        f'{correction}.enabeld: unknown key. Did you mean "enabled"?',
    ]


def raw_faults(key: str, value: object) -> list[Fault]:
    correction = {"id": "a", "amount": 1, key: value}
    spark = {"map": {"amount": 1}, "correction": [correction]}
    try:
        check({"format": FORMAT, "revision": "A", "spark": spark})
    except SheetError as error:
        return list(error.faults)
    return []


KEYS = ("id", "title", "axes", "values", "amount", "weight", "when", "until", "ramp", "range")
ODD = (3, -1.5, True, "x", "", [], [1], {}, {"x": 1}, [[[]]], float("nan"), 10**400)
JARGON = ("Input", "valid", "tuple", "dict", "literal", "union", "tag", "None", "float", "str(")


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("value", ODD, ids=lambda value: str(value)[:9])
def test_no_word_of_the_library_reaches_a_person(key: str, value: object) -> None:
    for fault in raw_faults(key, value):
        assert not any(word in str(fault) for word in JARGON)
        assert "(" not in (fault.place or "")


def test_a_value_where_a_part_belongs() -> None:
    assert faults_of(f"{TOP}spark = 5") == [
        "spark: 5; expected [spark.map] with the map, and the corrections"
    ]
    assert faults_of(f"{TOP}[spark]\nmap = [1]") == [
        "spark.map: a list of 1; expected the table that the engine is meant to get"
    ]
    assert faults_of(f"{TOP}engine = 4\n{MAP}") == [
        "engine: 4; expected keys such as cylinders, fuel or redline_rpm"
    ]
    assert faults_of(f"{TOP}{MAP}[spark.correction]\nid = 'x'\n") == [
        "spark.correction: a table of keys; expected a list in square brackets"
    ]


def test_a_load_that_is_no_share_is_named_by_its_channel() -> None:
    load = 'axes = [{ signal = "engine load", unit = "mg/Hub", at = [100, 600] }]\nvalues = [0, 0]'
    (told,) = faults_in(load)
    assert '"mg/Hub" for engine load; expected a unit that turns into %' in told
    assert '{ channel = "NAME", unit = "mg/Hub", … }' in told
    assert faults_in(load.replace('signal = "engine load"', 'channel = "Air mass"')) == []
