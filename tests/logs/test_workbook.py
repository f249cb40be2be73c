"""Workbooks: the log is found on whichever sheet it stands."""

import datetime
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from openpyxl import load_workbook

from tests.logs.packing import HEADERS, as_text, refusal, table
from tests.oldworkbooks import xls
from tests.workbooks import Sheets, ods, xlsx
from tuneledger.errors import LogError
from tuneledger.logs import open_log
from tuneledger.logs.limits import MEGABYTE, Limits


def rows() -> list[list[Any]]:
    return [list(HEADERS), *([*row[:4], bool(row[4])] for row in table().rows())]


@pytest.mark.parametrize("write", [xlsx, ods, xls])
def test_the_log_is_found_on_its_sheet(
    write: Callable[[Path, Sheets], Path], tmp_path: Path
) -> None:
    sheets = {"Notes": [["Kestrel"], ["wet in the morning"]], "Run 2": [["Second run"], *rows()]}
    log = open_log(write(tmp_path / "book", sheets))
    text = open_log(as_text(tmp_path / "run.csv"))
    assert log.layout["format"] == "workbook, sheet 'Run 2'"
    for channel in text.channels:
        other = log.find(channel.name)
        assert other is not None
        # a workbook's cell holds fifteen digits
        assert np.allclose(log.values(other), text.values(channel), rtol=1e-14, atol=0)


def test_dates_and_units_in_a_row_of_their_own(tmp_path: Path) -> None:
    start = datetime.datetime(2026, 5, 3, 10, 0)
    body = [[start + datetime.timedelta(seconds=i / 10), 900 + i, 12.5 + i / 8] for i in range(60)]
    sheet = [["Stamp", "Revs", "Spark"], ["", "rpm", "deg"], *body]
    log = open_log(xlsx(tmp_path / "book.xlsx", {"Run": sheet}))
    assert [(c.name, c.unit) for c in log.channels][1:] == [("Revs", "rpm"), ("Spark", "deg")]
    assert np.allclose(log.groups[0].times, np.arange(60) / 10.0, atol=2e-3)


def test_a_workbook_without_a_log_names_its_sheets(tmp_path: Path) -> None:
    book = xlsx(tmp_path / "book.xlsx", {"Notes": [["Kestrel"]], "Bill": [["tyres", 4]]})
    with pytest.raises(LogError, match=r"sheets Notes and Bill: no sheet of this workbook"):
        open_log(book)


def test_a_damaged_workbook_is_a_sentence(tmp_path: Path) -> None:
    whole = xlsx(tmp_path / "book.xlsx", {"Run": rows()}).read_bytes()
    chance = np.random.default_rng(1985)
    path = tmp_path / "damaged.xlsx"
    for case in range(40):
        data = bytearray(whole)
        if case % 2:
            data = data[: int(chance.integers(4, len(data)))]
        else:
            for place in chance.integers(4, len(data), 4):
                data[place] ^= int(chance.integers(1, 256))
        path.write_bytes(bytes(data))
        problem = refusal(path)
        assert problem is None or problem.faults[0].do


def test_a_workbook_that_grows_without_measure_is_refused(tmp_path: Path) -> None:
    """Whatever its own table of contents says of its size."""
    path = tmp_path / "bomb.xlsx"
    xlsx(tmp_path / "small.xlsx", {"Run": [["Time (s)", "Rev"], [0, 1], [1, 2]]})
    row = b"<row>" + b"<c><v>1</v></c>" * 1000 + b"</row>"
    with (
        zipfile.ZipFile(tmp_path / "small.xlsx") as small,
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as grown,
    ):
        for member in small.infolist():
            data = small.read(member)
            grown.writestr(member.filename, data + row * 500 * ("sheet" in member.filename))
    data = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as grown:
        for member in grown.infolist():  # sizes in the table of contents, made small
            data = data.replace(struct.pack("<I", member.file_size), struct.pack("<I", 9))
    for content in (path.read_bytes(), bytes(data)):
        path.write_bytes(content)
        with pytest.raises(LogError, match="it grows too large; expected at most 1 MB"):
            open_log(path, limits=Limits(workbook=MEGABYTE))


def test_a_number_far_from_the_log_is_told_before_it_takes_all_memory(tmp_path: Path) -> None:
    """Five kilobytes of file whose cells, the empty ones between counted, are seventeen billion."""
    path = xlsx(tmp_path / "far.xlsx", {"Run": [["Time (s)", "Rev"], [0, 900], [1, 901]]})
    book = load_workbook(path)
    book["Run"]["XFD1048576"] = 5
    book.save(path)
    with pytest.raises(LogError, match="sheet 'Run': the sheet takes more than 6 GB of memory"):
        open_log(path)


def test_more_cells_than_allowed_are_told_with_their_sheet(tmp_path: Path) -> None:
    path = xlsx(
        tmp_path / "long.xlsx", {"Run": [["Time (s)", "Rev"], *([n, 1] for n in range(99))]}
    )
    with pytest.raises(LogError, match="sheet 'Run': the sheet takes more than 150 cells"):
        open_log(path, limits=Limits(cells=150))


def test_another_log_in_the_workbook_is_told(tmp_path: Path) -> None:
    second = [rows()[0], *rows()[1:41]]
    sheets = {"Fuel": [["Litres", 40]], "Climb": rows(), "Descent": second, "Bill": [["tyres", 4]]}
    log = open_log(xlsx(tmp_path / "book.xlsx", sheets))
    assert log.layout["format"] == "workbook, sheet 'Climb'"
    assert [note for note in log.notes if "workbook" in note] == [
        "the workbook holds 2 logs: 'Climb' is read, and 'Descent' (40 samples) not; "
        "save each other sheet as a file of its own to have it read"
    ]


def test_a_table_before_the_log_does_not_keep_it_from_being_found(tmp_path: Path) -> None:
    lap = [["Lap", "Minutes"], *([n, 1.5] for n in range(30))]
    log = open_log(xlsx(tmp_path / "book.xlsx", {"Laps": lap, "Climb": rows()}))
    assert log.layout["format"] == "workbook, sheet 'Climb'"
    assert not any("workbook" in note for note in log.notes)


def test_formulas_without_stored_values_are_told(tmp_path: Path) -> None:
    body = rows()
    computed = [body[0], *([*row[:3], "=B2*2", row[4]] for row in body[1:])]
    log = open_log(xlsx(tmp_path / "book.xlsx", {"Climb": computed}))
    assert any("80 formulas in the workbook have no stored value" in note for note in log.notes)
    with pytest.raises(LogError, match="4 formulas in the workbook have no stored value"):
        open_log(xlsx(tmp_path / "none.xlsx", {"Climb": [["=1", "=2"], ["=3", "=4"]]}))
