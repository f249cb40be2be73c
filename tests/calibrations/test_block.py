"""A block of numbers is read however it was copied: its cells, its axes, its way round."""

# ruff: noqa: E501 (a block or a fault stands on one line, as a person sees it)

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.patience import at_most
from tuneledger.calibrations.block import Block, read_block
from tuneledger.calibrations.block.apart import areas
from tuneledger.calibrations.block.words import units_in
from tuneledger.errors import SheetError
from tuneledger.units import parse_unit

KPA, RPM = (40.0, 100.0, 180.0), (900.0, 2000.0, 3500.0, 7000.0)
VALUES = ((16.0, 30.0, 35.0, 36.0), (12.5, 20.0, 26.0, 29.0), (8.0, "?", 14.0, -1.5))


def read(text: str, shape: tuple[int, ...] | None = None) -> Block:
    return read_block(text, "pasted", shape)


def refused(text: str, shape: tuple[int, ...] | None = None) -> str:
    with pytest.raises(SheetError) as caught:
        read(text, shape)
    return str(caught.value)


def is_the_table(block: Block) -> bool:
    assert block.down is not None
    assert block.across is not None
    return (block.down.points, block.across.points, block.values) == (KPA, RPM, VALUES)


@pytest.mark.parametrize(
    "text",
    [
        # out of a spreadsheet
        "\t900\t2000\t3500\t7000\n40\t16\t30\t35\t36\n100\t12.5\t20\t26\t29\n180\t8\t\t14\t-1.5\n",
        # the same where decimals have a comma, with typeset minus signs
        "\t900\t2000\t3500\t7000\n40\t16\t30\t35\t36\n100\t12,5\t20\t26\t29\n180\t8\t\t14\t−1,5\n",
        # semicolons, words in the corner, every number with a decimal
        "kPa\\rpm;900;2000;3500;7000\n40;16,0;30,0;35,0;36,0\n100;12,5;20,0;26,0;29,0\n"
        "180;8,0;n/a;14,0;-1,5\n",
        # commas, everything in quotes, some with a decimal comma
        '"","900","2000","3500","7000"\n"40","16","30","35","36"\n'
        '"100","12,5","20","26","29"\n"180","8","?","14","-1,5"\n',
        # typed with spaces, without a corner
        "900 2000 3500 7000\n40 16 30 35 36\n100 12.5 20 26 29\n180 8 - 14 -1.5\n",
        # words before the numbers, spaces
        "MAP / engine speed  900 2000 3500 7000\n40 16 30 35 36\n100 12.5 20 26 29\n180 8 -- 14 -1.5",
        # pressures fall, as where load stands at the top
        ",900,2000,3500,7000\n180,8,?,14,-1.5\n100,12.5,20,26,29\n40,16,30,35,36\n",
        # both fall
        ",7000,3500,2000,900\n180,-1.5,14,?,8\n100,29,26,20,12.5\n40,36,35,30,16\n",
        # speed below the table
        "40\t16\t30\t35\t36\n100\t12.5\t20\t26\t29\n180\t8\t?\t14\t-1.5\n\t900\t2000\t3500\t7000\n",
        # pressure at the right
        "900\t2000\t3500\t7000\t\n16\t30\t35\t36\t40\n12.5\t20\t26\t29\t100\n8\t?\t14\t-1.5\t180\n",
        # both
        "16\t30\t35\t36\t40\n12.5\t20\t26\t29\t100\n8\t?\t14\t-1.5\t180\n900\t2000\t3500\t7000\t\n",
        # titles, an empty column, empty lines, a label beside
        "Base map, rev 4\n\n\t\tEngine speed [rpm]\n\t\t900\t2000\t3500\t7000\n"
        "kPa\t40\t16\t30\t35\t36\n\t100\t12.5\t20\t26\t29\n\t180\t8\t?\t14\t-1.5\n\n",
        # units behind the points
        "\t900 rpm\t2000 rpm\t3500 rpm\t7000 rpm\n40 kPa\t16°\t30°\t35°\t36°\n"
        "100 kPa\t12.5°\t20°\t26°\t29°\n180 kPa\t8°\t\t14°\t-1.5°\n",
        # thousands set apart, in both fashions
        "\t900\t2,000\t3,500\t7,000\n40\t16\t30\t35\t36\n100\t12.5\t20\t26\t29\n180\t8\t?\t14\t-1.5",
        "\t900\t2.000\t3.500\t7.000\n40\t16\t30\t35\t36\n100\t12,5\t20\t26\t29\n180\t8\t?\t14\t-1,5",
        # a number in the corner means nothing
        "0\t900\t2000\t3500\t7000\n40\t16\t30\t35\t36\n100\t12.5\t20\t26\t29\n180\t8\t?\t14\t-1.5\n",
    ],
)  # fmt: skip
def test_a_table_of_two_axes(text: str) -> None:
    assert is_the_table(read(text))
    assert is_the_table(read(text.replace("\n", "\r\n"), (6, 6)))


TEXTS = {"tabs": "\t", "semicolons": ";", "commas": ",", "spaces": "  "}


@st.composite
def dressed(draw: st.DrawFn) -> tuple[tuple[object, ...], str]:
    """(points down, points across, values) and a text of it in some dress."""
    halves = st.integers(-40, 90).map(lambda half: half / 2)
    down = sorted(draw(st.lists(st.integers(1, 60), min_size=3, max_size=6, unique=True)))
    across = sorted(draw(st.lists(st.integers(100, 200), min_size=3, max_size=6, unique=True)))
    cells = st.lists(halves | st.just("?"), min_size=len(across), max_size=len(across))
    values = [draw(cells) for _ in down]
    table = [["", *across], *([point, *row] for point, row in zip(down, values, strict=True))]
    if draw(st.booleans()):
        table[1:] = table[:0:-1]
    if draw(st.booleans()):
        table = [[row[0], *row[:0:-1]] for row in table]
    parted = draw(st.sampled_from(sorted(TEXTS)))
    comma = draw(st.booleans()) and parted != "commas"
    if parted == "spaces":
        table[0] = table[0][1:]
    lines = [TEXTS[parted].join(str(cell) for cell in row) for row in table]
    text = "\n".join(lines)
    wanted = (tuple(map(float, down)), tuple(map(float, across)), tuple(map(tuple, values)))
    return wanted, text.replace(".", ",") if comma else text


@settings(deadline=None)
@given(dressed())
def test_any_table_in_any_dress(case: tuple[tuple[object, ...], str]) -> None:
    wanted, text = case
    block = read(text)
    assert block.down is not None
    assert block.across is not None
    assert (block.down.points, block.across.points, block.values) == wanted


def test_how_it_was_read_is_said() -> None:
    falling = read(";7000;900\n40;1;2,5\n50;3;4\n60;5;6")
    assert falling.notes == (
        "Read with cells parted by semicolons and a decimal comma.",
        "The axis from 7000 to 900 falls; it was turned round with its values.",
    )
    grouped = read("\t900\t2,000\n40\t1\t2\n50\t3\t4\n60\t5\t6")
    assert grouped.notes == (
        "Read with cells parted by tabs and a decimal point, thousands set apart.",
    )


def test_units_are_found_beside_the_axis_that_they_belong_to() -> None:
    behind = read("\t900 rpm\t2000 rpm\n40 kPa\t1\t2\n50 kPa\t3\t4\n60 kPa\t5\t6")
    assert behind.down is not None
    assert behind.across is not None
    assert (behind.down.unit, behind.across.unit) == ("kPa", "rpm")
    above = read("Engine speed (1/min)\n\t900\t2000\n40\t1\t2\n50\t3\t4\n60\t5\t6")
    assert above.across is not None
    assert (above.across.unit, above.across.words) == ("rpm", "Engine speed (1/min)")
    corner = read("psi / rpm\t900\t2000\n4\t1\t2\n5\t3\t4\n6\t5\t6")
    assert corner.units == ("psi", "rpm")


@pytest.mark.parametrize(
    "text",
    [
        "20 40 60 80\n0 0 -2 -5",
        "20;0\n40;0\n60;-2\n80;-5",
        "80\t-5\n60\t-2\n40\t0\n20\t0\n",
        "IAT degC 20 40 60 80\nTiming 0 0 -2 -5",
        "Temperature [degC]\tDegrees\n20\t0\n40\t0\n60\t-2\n80\t-5",
        "20 °C\t40 °C\t60 °C\t80 °C\n0\t0\t−2\t−5",
    ],
)
def test_a_curve(text: str) -> None:
    for shape in (None, (7,)):
        block = read(text, shape)
        assert block.down is None
        assert block.across is not None
        assert block.across.points == (20.0, 40.0, 60.0, 80.0)
        assert block.values == ((0.0, 0.0, -2.0, -5.0),)


@pytest.mark.parametrize(
    ("text", "points"),
    [
        ("IAT 20 80\nDeg 0 5", (20.0, 80.0)),
        ("IAT\tDeg\n20\t0\n80\t5", (20.0, 80.0)),
        ("20 °C\t80 °C\n0\t5", (20.0, 80.0)),
        ("20 80\n0 -5", (20.0, 80.0)),
        ("20 0\n80 -5", (20.0, 80.0)),
    ],
)
def test_a_curve_of_two_points_runs_where_its_words_stand_or_where_it_rises(
    text: str, points: tuple[float, ...]
) -> None:
    block = read(text)
    assert block.across is not None
    assert block.across.points == points


def test_a_curve_of_two_points_that_could_run_either_way_is_asked_about() -> None:
    assert refused("20 80\n30 90") == (
        "pasted: line 1: two points, of which the axis may run along the line or down the column. "
        "Write a word before each line, or above the columns."
    )


def test_values_without_axes_are_known_by_the_shape_of_the_table_there() -> None:
    text = "16 30 35\n12.5 20 26"
    assert read(text, (2, 3)).values == ((16.0, 30.0, 35.0), (12.5, 20.0, 26.0))
    assert read(text, (2, 3)).across is None
    assert read("1 2 3 4", (4,)).values == ((1.0, 2.0, 3.0, 4.0),)
    assert read("1\n2\n3\n4", (4,)).values == ((1.0, 2.0, 3.0, 4.0),)
    with_a_gap = read("? 30 35\n12.5 20 26\n8 20 21", (3, 3))
    assert with_a_gap.across is None
    assert with_a_gap.values[0] == ("?", 30.0, 35.0)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "no numbers; expected a table with its axes"),
        ("no number here", "no numbers; expected a table with its axes"),
        ("\t900\t900\n40\t1\t2\n50\t1\t2\n60\t1\t2", "line 1: the axis above the columns: 900 does not rise above 900"),
        ("\t900\t2000\n60\t1\t2\n40\t1\t2\n50\t1\t2", "line 4: the axis before the rows: 50 does not fall below 40"),
        ("\t900\t2000\n40\t1\n50\t1\t2\n60\t1\t2", "line 2: 2 cells, where other lines have 3. Write ? for a value that is missing."),
        ("\t900\t2000\n40\t1\tlow\n50\t1\t2\n60\t1\t2", 'line 2: "low" among the values; expected a number, or ?'),
        ("\t900\t\n40\t1\t3\n50\t1\t2\n60\t1\t2", "line 1: nothing in the axis above the columns; expected a number"),
    ],
)  # fmt: skip
def test_what_cannot_be_a_table_says_where(text: str, fault: str) -> None:
    assert refused(text) == f"pasted: {fault}"


def attempt(text: str, shape: tuple[int, ...] | None = None) -> Block | str:
    try:
        return read(text, shape)
    except SheetError as error:
        return error.faults[0].found


@given(st.text(st.characters(codec="utf-8"), max_size=60), st.sampled_from((None, (2, 2), (3,))))
def test_no_text_makes_it_fail_otherwise(text: str, shape: tuple[int, ...] | None) -> None:
    assert attempt(text, shape)


PIECES = st.sampled_from(("1", "2.5", "", "x", "-", "7,5", "1,000", "°C"))


@given(st.lists(st.lists(PIECES, max_size=4), max_size=5))
def test_no_cells_make_it_fail_otherwise(cells: list[list[str]]) -> None:
    for sign in "\t;, ":
        assert attempt("\n".join(sign.join(line) for line in cells))


@pytest.mark.parametrize(
    ("corner", "units"),
    [
        ("bar / rpm x 1000", {"bar", "krpm"}),
        ("bar/rpm x1000", {"bar", "krpm"}),
        ("rpm × 1000 \\ kPa", {"kPa", "krpm"}),
        ("kPa, 1/min * 100", {"kPa", "100 rpm"}),
        ("Load [%] / Speed [rpm] x 1000", {"%", "krpm"}),
        ("kPa x 10", {"10 kPa"}),
        ("max 1000 rpm", {"rpm"}),
        ("kPa rpm", {"kPa", "rpm"}),
    ],
)
def test_a_power_of_ten_behind_a_unit_multiplies(corner: str, units: set[str]) -> None:
    assert {parse_unit(u) for u in units_in(corner)} == {parse_unit(u) for u in units}


@pytest.mark.parametrize(
    "corner",
    [
        "x 10 " * 20_000,
        "a" * 200_000 + " rpm , x 1000",
        "9" * 100_000 + "!" * 20,
        "x 10 " + "," * 200_000 + "!",
    ],
    ids=["powers of ten", "one long word", "digits", "commas"],
)
def test_a_long_corner_takes_no_longer_than_it_is(corner: str) -> None:
    with at_most(10.0):
        block = read_block(f"{corner}\t1000\t2000\n40\t1\t2\n70\t1\t2\n", "block.txt")
    assert block.values == ((1, 2), (1, 2))


def test_a_long_line_takes_no_longer_than_it_is() -> None:
    points = "\t".join(map(str, range(40_000)))
    with at_most(10.0):
        block = read_block(f"{points}\n{points}\n", "block.txt", (40_000,))
    assert len(block.values[0]) == 40_000


def test_of_countless_cells_that_stand_apart_only_the_first_are_tried() -> None:
    tried: list[str] = []

    def is_block(text: str) -> bool:
        tried.append(text)
        return text == "2\n"

    text = "1\t\t2\t\t1\n\n" * 2000
    apart = list(areas(text, (0, 0), is_block))
    assert apart[:2] == ["C1:C1", "C3:C3"]
    assert 100 < len(apart) < len(tried) < 1000
