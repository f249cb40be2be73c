"""`tuneledger sheet table` with the block on a worksheet of a workbook."""

import zipfile
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from openpyxl import load_workbook

from tests.workbooks import Sheets, ods, xlsx
from tuneledger.calibrations import open_calibration
from tuneledger.cli.sheet import command
from tuneledger.errors import TuneledgerError

Run = Callable[..., SimpleNamespace]
GRID = [["kPa", 900, 2500, 7000], [40, 17.5, 31, 37.25], [120, 12.5, 21, 30]]
WRITERS = pytest.mark.parametrize(("write", "name"), [(xlsx, "map.xlsx"), (ods, "map.ods")])


@pytest.fixture
def table(capsys: pytest.CaptureFixture[str]) -> Run:
    """Fill the map of a new sheet from a file; an error ends it as the program would."""

    def run(*arguments: str) -> SimpleNamespace:
        command.main(["new", "rev-a.toml", "--force"], standalone_mode=False)
        try:
            filled = ["table", "rev-a.toml", "spark.map", *arguments]
            status = command.main(filled, standalone_mode=False)
        except TuneledgerError as error:
            return SimpleNamespace(err=str(error), grid=None)
        err = capsys.readouterr().err
        grid = open_calibration("rev-a.toml").spark.map.grid.tolist()
        return SimpleNamespace(err=err, grid=grid, status=status)

    return run


@WRITERS
def test_the_only_block_of_a_workbook_is_found(
    table: Run, write: Callable[[Path, Sheets], Path], name: str
) -> None:
    write(Path(name), {"Notes": [["Kestrel"], ["wet in the morning"]], "Advance": GRID})
    assert table("--from", name).grid == [[17.5, 31, 37.25], [12.5, 21, 30]]


@WRITERS
def test_one_of_several_blocks_is_named(
    table: Run, write: Callable[[Path, Sheets], Path], name: str
) -> None:
    other = [GRID[0], [40, 1, 2, 3], [120, 4, 5, 6]]
    write(Path(name), {"Dry": GRID, "Wet": other})
    told = table("--from", name)
    assert 'a block stands on "Dry" and "Wet". Say which with --worksheet' in told.err
    assert table("--from", name, "--worksheet", "wet").grid == [[1, 2, 3], [4, 5, 6]]
    told = table("--from", name, "--worksheet", "Snow")
    assert 'no worksheet "Snow"; expected "Dry" or "Wet"' in told.err


def test_cells_among_others_are_told_by_their_area(table: Run) -> None:
    around: list[list[object]] = [["Bill", 4, 1.5], ["", ""]]
    xlsx(Path("map.xlsx"), {"All": [*around, *[["", *row] for row in GRID], ["", ""], [1, 2]]})
    found = table("--from", "map.xlsx", "--cells", "b3:E5")
    assert found.grid == [[17.5, 31, 37.25], [12.5, 21, 30]]
    assert (
        'no cells "B3"; expected an area such as B3:J10'
        in table("--from", "map.xlsx", "--cells", "B3").err
    )


def test_damaged_and_swollen_workbooks_are_refused(
    table: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tuneledger.calibrations.block.workbook._UNPACKED", 1 << 21)
    xlsx(Path("map.xlsx"), {"Advance": GRID})
    whole = Path("map.xlsx").read_bytes()
    with zipfile.ZipFile("swollen.xlsx", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b"<workbook/>")
        packed.writestr("xl/worksheets/sheet1.xml", bytes(1 << 22))
    assert (
        "the workbook is too large; expected at most 2 MB unpacked"
        in table("--from", "swollen.xlsx").err
    )
    refused = 0
    for end in range(0, len(whole), max(1, len(whole) // 60)):
        Path("cut.xlsx").write_bytes(whole[:end])
        refused += table("--from", "cut.xlsx").grid is None
    assert refused > 55


def test_areas_and_worksheets_are_for_workbooks(table: Run) -> None:
    Path("map.txt").write_text("x")
    told = table("--from", "map.txt", "--worksheet", "Dry")
    assert "--worksheet and --cells are for workbooks; this is text" in told.err


def test_a_number_far_from_the_block_is_told_before_it_takes_all_memory(table: Run) -> None:
    """Five kilobytes of file whose cells, the empty ones between counted, are seventeen billion."""
    xlsx(Path("map.xlsx"), {"Advance": GRID})
    book = load_workbook("map.xlsx")
    book["Advance"]["XFD1048576"] = 5
    book.save("far.xlsx")
    told = table("--from", "far.xlsx")
    assert told.grid is None
    assert 'worksheet "Advance" has too many cells, empty ones between others counted' in told.err
    assert "Delete what stands far from the block" in told.err


def test_what_a_workbook_says_of_its_size_is_not_believed(table: Run) -> None:
    xlsx(Path("map.xlsx"), {"Advance": GRID})
    with zipfile.ZipFile("map.xlsx") as whole, zipfile.ZipFile("told.xlsx", "w") as told:
        for name in whole.namelist():
            data = whole.read(name)
            if name.startswith("xl/worksheets"):
                assert b'ref="A1:D3"' in data
                data = data.replace(b'ref="A1:D3"', b'ref="A1:XFD1048576"')
            told.writestr(name, data)
    assert table("--from", "told.xlsx").grid == [[17.5, 31, 37.25], [12.5, 21, 30]]


def test_blocks_on_one_worksheet_are_told_with_their_cells(table: Run) -> None:
    other = [GRID[0], [40, 1, 2, 3], [120, 4, 5, 6]]
    xlsx(Path("map.xlsx"), {"All": [["Dry"], *GRID, [""], [""], ["Wet"], *other], "Notes": [["a"]]})
    told = table("--from", "map.xlsx").err
    where = "in A1:D4 and A7:D10. Say which with --cells, as A1:D4."
    assert f"2 blocks stand on one worksheet, {where}" in told
    assert table("--from", "map.xlsx", "--worksheet", "All").err == told
    area = ("--worksheet", "All", "--cells", "A7:D10")
    assert table("--from", "map.xlsx", *area).grid == [[1, 2, 3], [4, 5, 6]]
    beside = [[*one, "", *two] for one, two in zip(GRID, other, strict=True)]
    xlsx(Path("map.xlsx"), {"All": [*beside, [""], *other]})
    told = table("--from", "map.xlsx").err
    assert "3 blocks stand on one worksheet, in A1:D3, F1:I3 and A5:D7. Say which" in told
    assert table("--from", "map.xlsx", "--cells", "F1:I3").grid == [[1, 2, 3], [4, 5, 6]]


def test_merged_cells_are_named(table: Run) -> None:
    xlsx(Path("map.xlsx"), {"Dry": [["Advance", "", "", ""], *GRID]})
    book = load_workbook("map.xlsx")
    book["Dry"].merge_cells("A1:D1")
    book["Dry"].merge_cells("B3:C3")
    book.save("map.xlsx")
    told = table("--from", "map.xlsx")
    assert np.isnan(told.grid).sum() == 1
    assert (
        "merged cells on worksheet 'Dry' (A1:D1 and B3:C3): the first of each holds its value, the "
        "others are read as empty" in told.err
    )


def test_formulas_without_stored_values_are_told(table: Run) -> None:
    computed = [GRID[0], [40, "=A1", "=A1+1", "=2*A1"], GRID[2]]
    xlsx(Path("map.xlsx"), {"All": computed})
    told = table("--from", "map.xlsx").err
    assert "3 formulas in it have no stored value. Open it in a spreadsheet program" in told


def test_a_value_that_a_merged_cell_swallows_is_told(table: Run) -> None:
    xlsx(Path("map.xlsx"), {"All": GRID})
    book = load_workbook("map.xlsx")
    book["All"].merge_cells("B2:C2")
    book.save("map.xlsx")
    told = table("--from", "map.xlsx")
    assert "1 value is missing (line 2): ? stands there. Of merged cells only" in told.err
    assert np.isnan(told.grid[0][1])
    xlsx(Path("whole.xlsx"), {"All": GRID})
    assert "missing" not in table("--from", "whole.xlsx").err


def test_worksheets_whose_names_differ_in_capitals_are_told_apart(table: Run) -> None:
    other = [GRID[0], [40, 1, 2, 3], [120, 4, 5, 6]]
    xlsx(Path("plain.xlsx"), {"Dry": GRID, "Two": other})
    with zipfile.ZipFile("plain.xlsx") as plain, zipfile.ZipFile("map.xlsx", "w") as alike:
        for name in plain.namelist():
            alike.writestr(name, plain.read(name).replace(b'name="Two"', b'name="DRY"'))
    assert table("--from", "map.xlsx", "--worksheet", "DRY").grid == [[1, 2, 3], [4, 5, 6]]
    told = table("--from", "map.xlsx", "--worksheet", "dry").err
    assert '2 worksheets "dry"; expected "Dry" or "DRY"' in told


def test_more_text_or_worksheets_than_a_block_needs_are_refused(
    table: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    xlsx(Path("map.xlsx"), {"Dry": GRID, "Notes": [["Kestrel " * 100]] * 1400})
    assert table("--from", "map.xlsx").grid
    monkeypatch.setattr("tuneledger.calibrations.block.workbook._TEXT", 1 << 20)
    told = table("--from", "map.xlsx").err
    assert "it has too much text; expected at most 1 MB" in told
    monkeypatch.setattr("tuneledger.calibrations.block.workbook._WORKSHEETS", 1)
    told = table("--from", "map.xlsx").err
    assert "it has too many worksheets; expected at most 1. Save the worksheet of the block" in told


def test_degrees_that_can_hardly_be_meant_are_told_as_by_a_check(
    table: Run, capsys: pytest.CaptureFixture[str]
) -> None:
    xlsx(Path("map.xlsx"), {"All": [GRID[0], [40, 17.5, 900, 37.25], GRID[2]]})
    told = table("--from", "map.xlsx")
    says = "spark.map.values[0][1]: 900.0° can hardly be meant, no engine is given that"
    assert says in told.err.splitlines()
    assert told.status == 1
    command.main(["check", "rev-a.toml"], standalone_mode=False)
    assert f"rev-a.toml: {says}" in capsys.readouterr().out.splitlines()


def test_cells_left_empty_by_formulas_are_put_down_to_them(table: Run) -> None:
    xlsx(Path("map.xlsx"), {"Dry": [GRID[0], [40, 17.5, "=1+1", 37.25], GRID[2]]})
    told = table("--from", "map.xlsx").err
    assert 'Read from the cells of worksheet "Dry".' in told.splitlines()
    assert "1 value is missing (line 2): ? stands there. 1 formula in the workbook has no" in told
    assert "merged" not in told
