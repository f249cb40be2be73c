"""Workbooks of a few kilobytes that would become gigabytes, or take hours, or say one thing twice.

No spreadsheet program writes them, so they are changed by hand.
"""

import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.logs.packing import HEADERS, table
from tests.patience import at_most
from tests.workbooks import Sheets, xlsx
from tuneledger.errors import LogError
from tuneledger.logs import open_log
from tuneledger.logs.limits import MEGABYTE, Limits
from tuneledger.workbooks.formulas import without_values

RUN: list[list[Any]] = [list(HEADERS), *([*row[:4], bool(row[4])] for row in table().rows())]
FIRST = "xl/worksheets/sheet1.xml"
NAMES, PARTS = "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
RELATION = (
    b'<Relationship Id="words" Target="sharedStrings.xml" Type="http://schemas.openxmlformats.org'
    b'/officeDocument/2006/relationships/sharedStrings"/></Relationships>'
)


def changed(path: Path, sheets: Sheets, **change: Callable[[bytes], bytes]) -> Path:
    """A workbook parts of which are written otherwise: `names`, `parts` or `cells`."""
    plain = xlsx(path.with_suffix(".plain"), sheets)
    changes = {{"names": NAMES, "parts": PARTS}.get(key, key): do for key, do in change.items()}
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            kind = "cells" if name.startswith("xl/worksheets") else name
            new.writestr(name, changes.get(kind, bytes)(old.read(name)))
    return path


def saying(path: Path, text: str, rows: int) -> Path:
    """A workbook that holds a text once, and a sheet of it beside the run."""
    path = changed(
        path,
        {"Notes": [["w"] * 20] * rows, "Run": RUN},
        parts=lambda part: part.replace(b"</Relationships>", RELATION),
        cells=lambda part: part.replace(b't="inlineStr"><is><t>w</t></is>', b't="s"><v>0</v>'),
    )
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as book:
        words = f'<sst xmlns="{space}"><si><t>{text}</t></si></sst>'
        book.writestr("xl/sharedStrings.xml", words)
    return path


@pytest.mark.parametrize(
    "beside",
    [b"<!-- " + b"<c " * 300_000 + b"-->", b"<c><f/>" + b" " * 300_000 + b"<v>1</v></c>"],
    ids=["cells in a comment", "blanks behind a formula"],
)
def test_what_only_looks_like_formulas_takes_no_time(beside: bytes, tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "book.xlsx", "w", zipfile.ZIP_DEFLATED) as book:
        book.writestr(FIRST, beside)
    with at_most(10.0):
        assert without_values(tmp_path / "book.xlsx") == 0


def test_formulas_are_counted_however_they_are_written(tmp_path: Path) -> None:
    lost = b'<c r="A1"><f>B1*2</f></c><c><f/> <v/></c>\n<c s="1"> <f t="shared">A1</f><v> </v> </c>'
    kept = b'<c r="A1"><f>B1*2</f><v>4</v></c><c><v>1</v></c><c/><c><f/><v>0</v></c>'
    with zipfile.ZipFile(tmp_path / "book.xlsx", "w") as book:
        book.writestr(FIRST, lost + kept)
        book.writestr("xl/worksheets/sheet2.xml", kept + lost)
    assert without_values(tmp_path / "book.xlsx") == 6


def test_a_part_that_only_a_password_opens_does_not_matter(tmp_path: Path) -> None:
    """Nothing refers to it; the log beside it is read."""
    path = xlsx(tmp_path / "book.xlsx", {"Run": RUN})
    with zipfile.ZipFile(path, "a") as book:
        book.writestr("xl/worksheets/other.xml", "<worksheet/>")
    data = bytearray(path.read_bytes())
    for mark, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        data[data.rindex(mark) + flags] |= 1
    path.write_bytes(data)
    assert open_log(path).samples == len(RUN) - 1


def test_two_sheets_of_one_name_are_refused(tmp_path: Path) -> None:
    """Only the first of them can be had by its name; the other is not passed off as it."""
    path = changed(
        tmp_path / "book.xlsx",
        {"Climb": RUN, "Descent": RUN[:40]},
        names=lambda part: part.replace(b'name="Descent"', b'name="Climb"'),
    )
    with pytest.raises(LogError, match=r"another sheet 'Climb' stands in it\. Rename one"):
        open_log(path)


def test_sheets_whose_names_look_alike_are_two(tmp_path: Path) -> None:
    """One has a sign that is shown as an escape, the other has the letters of that escape."""
    path = changed(
        tmp_path / "alike.xlsx",
        {"a\u202e": RUN, "Other": RUN[:41]},
        names=lambda part: part.replace(b'name="Other"', rb'name="a\u202e"'),
    )
    log = open_log(path)
    assert log.samples == len(RUN) - 1
    assert any("the workbook holds 2 logs" in note for note in log.notes)


def test_a_long_text_that_many_cells_name_is_not_written_for_each(tmp_path: Path) -> None:
    path = saying(tmp_path / "book.xlsx", "Kestrel " * 5000, rows=200)
    log = open_log(path, limits=Limits(workbook=MEGABYTE))
    assert log.layout["format"] == "workbook, sheet 'Run'"


def test_more_text_than_the_workbook_may_become_is_told(tmp_path: Path) -> None:
    path = saying(tmp_path / "book.xlsx", "Kestrel " * 100, rows=100)
    with pytest.raises(LogError, match=r"its sheets become too much text; expected at most 1 MB"):
        open_log(path, limits=Limits(workbook=MEGABYTE))
    assert open_log(path).samples == len(RUN) - 1


def test_a_power_of_ten_is_not_written_out_in_all_its_digits(tmp_path: Path) -> None:
    rows = [[*HEADERS[:3]], *([n / 10, 1e300, 5e15 + n] for n in range(4000))]
    path = xlsx(tmp_path / "book.xlsx", {"Run": rows})
    log = open_log(path, limits=Limits(workbook=MEGABYTE))
    values = [log.values(channel)[1] for channel in log.channels[1:]]
    assert values == [1e300, 5e15 + 1]


def test_a_workbook_of_countless_sheets_is_refused(tmp_path: Path) -> None:
    sheets: Sheets = {"Run": RUN, **{f"Note {n}": [["Kestrel"]] for n in range(5)}}
    path = xlsx(tmp_path / "book.xlsx", sheets)
    with pytest.raises(LogError, match=r"it holds too many sheets; expected at most 5"):
        open_log(path, limits=Limits(members=5))
    del sheets["Run"]
    none = xlsx(tmp_path / "none.xlsx", sheets)
    with pytest.raises(LogError, match=r"sheets Note 0, Note 1, Note 2, Note 3 and 1 more: no "):
        open_log(none)


def test_a_part_that_lies_nowhere_is_damage(tmp_path: Path) -> None:
    """Its place in the file is a number of 64 bits, which no file can have."""
    path = xlsx(tmp_path / "book.xlsx", {"Run": RUN})
    with zipfile.ZipFile(path, "a") as book:
        book.writestr("xl/other.xml", "<a/>")
        book.filelist[-1].header_offset = (1 << 63) + 1
    with pytest.raises(LogError, match=r"it is damaged, or no workbook \(a file in it lies"):
        open_log(path)
