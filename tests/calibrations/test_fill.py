"""A pasted block goes where it belongs, with the right axis for each edge, and nothing else moves."""

# ruff: noqa: E501 (a block or a fault stands on one line, as a person sees it)

import difflib
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.calibrations.sheets import sheet_of
from tests.strategies import calibrations
from tuneledger.calibrations.fill import Filling, Pasted, filling, named_reading
from tuneledger.calibrations.insert import with_table
from tuneledger.calibrations.model import Calibration, Table
from tuneledger.calibrations.paths import get
from tuneledger.calibrations.write import to_toml
from tuneledger.errors import TuneledgerError

SHEET = """\
# Kestrel, the hill-climb car
format = "tuneledger-calibration/1"
revision = "D"    # eased on Sunday

[spark]
limits = { highest = 38 }   # as the owner wants it

[spark.map]   # what the engine is meant to get
axes = [
  { signal = "manifold absolute pressure", unit = "kPa", at = [40, 100, 180] },   # load
  { signal = "engine speed", unit = "rpm", at = [900, 2000, 3500, 7000] },
]
values = [
  [16.0, 30.0, 35.0, 36.0],
  [12.5, 20.0, 26.0, 29.0],
  [8.0, "?", 14.0, -1.5],
]

[[spark.correction]]
id = "charge-air"       # hot days
axes = [{ signal = "intake air temperature", unit = "degC", at = [20, 40, 60] }]
values = [0.0, -2.0, -5.0]

[[spark.correction]]
id = "wet"
amount = -4   # in rain
when = [{ channel = "Wet", is = "on" }]

[[spark.correction]]
id = "ethanol"
effect = "base"
amount = 30.0
weight = { axes = [{ signal = "ethanol content", at = [10, 85] }], values = [0.0, 1.0] }   # blend
"""
# the map with other numbers, rows and columns as they stand in the sheet
BLOCK = "\t900\t2500\t7000\n40\t17\t31\t37\n120\t12\t21\t30\n"
TURNED = "\t40\t120\n900\t17\t12\n2500\t31\t21\n7000\t37\t30\n"


def fill(block: str, place: str = "spark.map", *, sheet: str = SHEET, **said: str) -> Filling:
    return filling(sheet, "rev-d.toml", place, Pasted(block, "pasted", **said))  # type: ignore[arg-type]


def table_after(filled: Filling) -> Table:
    """The table that the first way gives, by the text that it writes."""
    found = get(sheet_of(filled.new_text(filled.ways[0])), filled.place)
    assert isinstance(found, Table)
    return found


def changed_lines(before: str, after: str) -> list[str]:
    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), n=0)
    return [line for line in lines if line[:1] in "+-" and line[:3] not in ("+++", "---")]


def first_way(block: str, place: str, **said: str) -> str:
    filled = fill(block, place, **said)
    return filled.new_text(filled.ways[0])


def refused(block: str, place: str = "spark.map", *, sheet: str = SHEET, **said: str) -> str:
    with pytest.raises(TuneledgerError) as caught:
        first_way(block, place, sheet=sheet, **said)
    return str(caught.value)


@pytest.mark.parametrize("block", [BLOCK, TURNED])
def test_either_way_round_the_axes_find_their_place(block: str) -> None:
    filled = fill(block)
    assert filled.is_clear
    table = table_after(filled)
    assert [axis.at for axis in table.axes] == [(40, 120), (900, 2500, 7000)]
    assert table.grid.tolist() == [[17, 31, 37], [12, 21, 30]]


def test_all_else_in_the_file_stays_as_it_is_comments_too() -> None:
    filled = fill(BLOCK)
    assert changed_lines(SHEET, filled.new_text(filled.ways[0])) == [
        '-  { signal = "manifold absolute pressure", unit = "kPa", at = [40, 100, 180] },   # load',
        '-  { signal = "engine speed", unit = "rpm", at = [900, 2000, 3500, 7000] },',
        '+  { signal = "manifold absolute pressure", unit = "kPa", at = [40, 120] },   # load',
        '+  { signal = "engine speed", unit = "rpm", at = [900, 2500, 7000] },',
        "-  [16.0, 30.0, 35.0, 36.0],",
        "-  [12.5, 20.0, 26.0, 29.0],",
        '-  [8.0, "?", 14.0, -1.5],',
        "+  [17.0, 31.0, 37.0],",
        "+  [12.0, 21.0, 30.0],",
    ]


def test_a_curve_takes_the_place_of_a_curve_in_another_unit() -> None:
    filled = fill("degF 100 120 140 160\ndegrees 0 -1 -2 -6", "spark.correction.charge-air")
    assert filled.place == "spark.correction[0]"
    assert changed_lines(SHEET, filled.new_text(filled.ways[0])) == [
        '-axes = [{ signal = "intake air temperature", unit = "degC", at = [20, 40, 60] }]',
        "-values = [0.0, -2.0, -5.0]",
        '+axes = [{ signal = "intake air temperature", unit = "degF", at = [100, 120, 140, 160] }]',
        "+values = [0.0, -1.0, -2.0, -6.0]",
    ]


def test_a_weight_inside_braces_is_filled_too() -> None:
    filled = fill("0;50;85\n0;0,5;1", "spark.correction.ethanol.weight")
    assert changed_lines(SHEET, filled.new_text(filled.ways[0]))[1] == (
        '+weight = { axes = [{ signal = "ethanol content", at = [0, 50, 85] }], '
        "values = [0.0, 0.5, 1.0] }   # blend"
    )


def test_an_amount_gives_way_to_a_table() -> None:
    filled = fill("rpm 900 3000 7000\ndeg 0 -2 -4", "spark.correction.wet")
    assert filled.loses(filled.ways[0])
    table = table_after(filled)
    assert table.amount is None
    assert table.axes[0].signal == "engine speed"
    assert "# eased on Sunday" in filled.new_text(filled.ways[0])


def test_values_alone_keep_the_axes_there() -> None:
    table = table_after(fill("1 2 3 4\n5 6 7 8\n9 10 11 12"))
    assert table.grid.tolist() == [[1, 2, 3, 4], [5, 6, 7, 8], [9, 10, 11, 12]]
    assert table_after(fill("1 5 9\n2 6 10\n3 7 11\n4 8 12")) == table


def test_units_beside_the_block_tell_the_axes_apart_and_are_kept() -> None:
    table = table_after(fill("psi\t900 rpm\t2500 rpm\n6\t17\t31\n20\t12\t21\n30\t1\t2\n"))
    assert [(axis.unit, axis.at) for axis in table.axes] == [
        ("psi", (6, 20, 30)),
        ("rpm", (900, 2500)),
    ]


def test_what_the_user_says_overrules_what_the_sheet_has() -> None:
    table = table_after(fill(BLOCK, down="throttle position [%]"))
    assert [axis.signal for axis in table.axes] == ["throttle position", "engine speed"]
    table = table_after(fill(BLOCK, down="Boost", across="engine speed"))
    assert [axis.channel or axis.signal for axis in table.axes] == ["Boost", "engine speed"]
    table = table_after(fill(TURNED, across="manifold absolute pressure"))
    assert table.grid.tolist() == [[17, 31, 37], [12, 21, 30]]


def test_a_block_that_could_stand_either_way_is_not_clear() -> None:
    axis = '{ channel = "%s", at = [0, 10] }'
    sheet = SHEET.replace(
        SHEET[SHEET.index("axes = [\n") : SHEET.index("[[spark")],
        f"axes = [{axis % 'A'}, {axis % 'B'}]\nvalues = [[1, 2], [3, 4]]\n\n",
    )
    filled = fill("\t1\t8\n2\t5\t6\n9\t7\t8", sheet=sheet)
    assert not filled.is_clear
    assert [way.says for way in filled.ways] == [
        "down A from 2 to 9 (2 points), across B from 1 to 8 (2 points)",
        "down B from 2 to 9 (2 points), across A from 1 to 8 (2 points)",
    ]
    assert fill("\t0\t10\n2\t5\t6\n9\t7\t8", sheet=sheet, down="A").is_clear


@pytest.mark.parametrize(
    "spark",
    [
        "[spark]\ncomplete = true\n",
        "[spark.map]\namount = 20   # flat\n",
        "[spark]\nmap = { amount = 20 }\n",
        "[spark]\nmap.amount = 20\ncomplete = true\n",
        "spark.map.amount = 20\n",
        "spark = { complete = true, map = { amount = 20 } }\n",
        '[[spark.correction]]\nid = "a"\namount = 1\n\n[spark.map]\namount = 20\n\n[engine]\n',
        '[[spark.correction]]\nid = "a"\namount = 1\n',
        '[spark.map]\namount = 20\n[engine]\ncylinders = 4\n[[spark.correction]]\nid = "a"\namount = 1\n',
    ],
)
def test_however_the_sheet_is_laid_out(spark: str) -> None:
    """TOML can say one thing in many ways; where one cannot be edited, it is refused, not spoilt."""
    text = f'format = "tuneledger-calibration/1"\nrevision = "A"\n{spark}'
    filled = fill("\t900 rpm\t2500 rpm\n40 kPa\t1\t2\n90 kPa\t3\t4\n150 kPa\t5\t6",
                  sheet=text, down="manifold absolute pressure")  # fmt: skip
    after = sheet_of(filled.new_text(filled.ways[0]))
    assert after.spark.map.grid.tolist() == [[1, 2], [3, 4], [5, 6]]
    assert len(after.spark.correction) == text.count("[[spark")


def test_whether_the_block_names_its_axes_is_known() -> None:
    assert not fill(BLOCK).ways[0].shown
    assert fill("kPa/rpm" + BLOCK).ways[0].says == fill(BLOCK).ways[0].says
    assert fill("\t900 rpm\t2500 rpm\n40 kPa\t17\t31\n120 kPa\t1\t2\n150 kPa\t1\t2").ways[0].shown


def test_signals_that_a_log_carries_may_be_axes_as_well() -> None:
    names = ("engine speed", "manifold absolute pressure", "throttle position")
    filled = filling(SHEET, "x", "spark.map", Pasted(BLOCK, "pasted", others=names))
    says = [way.says for way in filled.ways]
    assert any("down throttle position" in way and "across engine speed" in way for way in says)
    assert len(says) == len(set(says))


def test_numbers_are_lost_only_where_other_numbers_stood() -> None:
    assert fill(BLOCK).loses(fill(BLOCK).ways[0])
    same = fill("16 30 35 36\n12.5 20 26 29\n8 ? 14 -1.5")
    assert not same.loses(same.ways[0])
    start = SHEET[: SHEET.index("values = [\n")] + 'values = [["?","?","?","?"],' * 1
    unknown = start + '["?","?","?","?"],["?","?","?","?"]]\n'
    filled = fill(BLOCK, sheet=unknown)
    assert not filled.loses(filled.ways[0])


@pytest.mark.parametrize(
    ("block", "place", "says"),
    [
        (BLOCK, "spark", "no table can stand here"),
        (BLOCK, "spark.correction.nothing", "no such correction"),
        (BLOCK, "spark.correction[9]", "there is no such correction"),
        (BLOCK, "spark.correction.charge-air", "it does not show what the axes read. Say it with --down and --across"),
        ("1 2\n3 4\n5 6\n7 8 9", "spark.map", "2 cells, where other lines have 3"),
        ("1 2 3", "spark.map", "values of 1 by 3 without axes, where the sheet has 3 by 4"),
        ("20 s\t40 s\t60 s\n0\t1\t2", "spark.correction.charge-air", "an axis in s, where the sheet reads intake air temperature"),
        ("0 50 85\n0 1 2", "spark.correction.ethanol.weight", "spark.correction[2].weight.values[2]: a weight of 2"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_said(block: str, place: str, says: str) -> None:
    assert says in refused(block, place)


def test_a_reading_is_named_as_a_signal_or_a_channel() -> None:
    assert named_reading("Engine Speed [rpm]") == {"signal": "engine speed", "unit": "rpm"}
    assert named_reading(" Boost (psi) ") == {"channel": "Boost", "unit": "psi"}
    with pytest.raises(TuneledgerError, match='Did you mean "engine speed"'):
        named_reading("engine sped")


@settings(deadline=None, max_examples=25)
@given(calibrations(most=2), st.data())
def test_a_table_goes_into_any_sheet_and_nothing_else_changes(
    calibration: Calibration, data: st.DataObject
) -> None:
    text = to_toml(calibration)
    tables = [("spark", "map")]
    tables += [
        ("spark", "correction", index)  # type: ignore[misc]
        for index, correction in enumerate(calibration.spark.correction)
        if correction.has_numbers
    ]
    where = data.draw(st.sampled_from(tables))
    axes = [{"signal": "engine speed", "unit": "rpm", "at": [1000.0, 2500.5]}]
    after = tomllib.loads(with_table(text, where, axes, [1.5, "?"], "x"))
    before = tomllib.loads(text)
    old, new = before, after
    for step in where:
        old, new = old[step], new[step]
    assert (new["axes"], new["values"]) == (axes, [1.5, "?"])
    for table in (old, new):
        for key in ("axes", "values", "amount"):
            table.pop(key, None)
    assert before == after
