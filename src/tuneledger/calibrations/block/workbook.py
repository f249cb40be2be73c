"""A block of numbers on a worksheet of a workbook (XLSX, XLS, ODS), as the text that is pasted.

Reading workbooks is an extra (python-calamine).
"""

import re
import zipfile
from collections.abc import Iterator
from importlib.util import find_spec
from io import BytesIO
from typing import Any

from tuneledger.calibrations.block import read_block
from tuneledger.calibrations.tree import quoted
from tuneledger.errors import Fault, SheetError
from tuneledger.wording import listing, visible

_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the compound file of XLS
_PARTS = ("xl/workbook.xml", "xl/workbook.bin", "content.xml")
_CELLS = 1_000_000
_UNPACKED = 1 << 29  # bytes
_AREA = re.compile(r"([A-Za-z]{1,3})(\d{1,7}):([A-Za-z]{1,3})(\d{1,7})")
Area = tuple[int, int, int, int]
Rows = list[list[Any]]


def is_workbook(data: bytes) -> bool:
    """Whether a file is a workbook, by its content; never raises."""
    if data.startswith(_OLD):
        return True
    return data.startswith(b"PK") and not _packed(data).isdisjoint(_PARTS)


def worksheet_text(data: bytes, file: str, worksheet: str | None, area: str | None) -> str:
    """The block as text, cells parted by tabs.

    worksheet: its name; without it, the only one on which a block stands
    area:      the cells meant, as `B3:J10`; without it, all of them

    Raises SheetError where there is no such worksheet, none or several hold a block, or the file is
    damaged or too large.
    """
    if find_spec("python_calamine") is None:
        raise SheetError(
            Fault(
                "this is a workbook, and what reads those is not installed",
                file=file,
                do="Install the extra 'workbook' (pip install python-calamine); or copy the block.",
            )
        )
    cut = _area(area, file) if area is not None else None
    texts = {name: _text(_cropped(rows, cut)) for name, rows in _worksheets(data, file)}
    if worksheet is not None:
        by_fold = {name.casefold(): text for name, text in texts.items()}
        if worksheet.casefold() not in by_fold:
            expected = listing([quoted(name) for name in texts], "or")
            fault = Fault(f"no worksheet {quoted(worksheet)}", file=file, expected=expected)
            raise SheetError(fault)
        return by_fold[worksheet.casefold()]
    held = [name for name, text in texts.items() if _holds_block(text, file)]
    if len(held) == 1 or len(texts) == 1:
        return texts[held[0] if held else next(iter(texts))]
    names = listing([quoted(name) for name in held or texts])
    found = f"a block stands on {names}" if held else f"no block stands on {names}"
    raise SheetError(
        Fault(found, file=file, do="Say which with --worksheet, and --cells if need be.")
    )


def _worksheets(data: bytes, file: str) -> Iterator[tuple[str, Rows]]:
    """Every worksheet's cells, from A1 on."""
    from python_calamine import CalamineError, CalamineWorkbook

    if not data.startswith(_OLD):
        _packed(data, file)
    try:
        with CalamineWorkbook.from_filelike(BytesIO(data)) as book:
            for name in book.sheet_names:
                sheet = book.get_sheet_by_name(name)
                if (sheet.end or (0, 0))[0] * (sheet.end or (0, 0))[1] > _CELLS:
                    found = f"worksheet {quoted(name)} has too many cells"
                    raise SheetError(Fault(found, file=file, expected=f"at most {_CELLS}"))
                yield name, sheet.to_python(skip_empty_area=False)
    except (CalamineError, OSError, ValueError) as problem:
        found = f"it is damaged, or no workbook ({visible(str(problem))[:120]})"
        do = "Open and save it again, or copy the block."
        raise SheetError(Fault(found, file=file, do=do)) from None


def _packed(data: bytes, file: str | None = None) -> set[str]:
    """The names of what is packed in it. With a file: SheetError where that is too much."""
    try:
        with zipfile.ZipFile(BytesIO(data)) as packed:
            parts = packed.infolist()
    except (zipfile.BadZipFile, OSError, ValueError):
        return set()
    if file is not None and sum(part.file_size for part in parts) > _UNPACKED:
        expected = f"at most {_UNPACKED >> 20} MB unpacked"
        raise SheetError(Fault("the workbook is too large", file=file, expected=expected))
    return {part.filename for part in parts}


def _area(text: str, file: str) -> Area:
    """First row, one past the last, first column, one past the last."""
    match = _AREA.fullmatch(text.strip())
    if match is None:
        fault = Fault(f"no cells {quoted(text)}", file=file, expected="an area such as B3:J10")
        raise SheetError(fault)
    columns = sorted((_column(match[1]), _column(match[3])))
    rows = sorted((int(match[2]), int(match[4])))
    return max(rows[0] - 1, 0), rows[1], columns[0] - 1, columns[1]


def _column(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = 26 * number + ord(letter) - ord("A") + 1
    return number


def _cropped(rows: Rows, cut: Area | None) -> Rows:
    if cut is None:
        return rows
    top, bottom, left, right = cut
    return [row[left:right] for row in rows[top:bottom]]


def _text(rows: Rows) -> str:
    return "".join(
        "\t".join(map(_cell, row)).rstrip() + "\n" for row in rows if any(map(_cell, row))
    )


def _cell(cell: Any) -> str:
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() else repr(cell)
    return " ".join(str(cell).split())


def _holds_block(text: str, file: str) -> bool:
    try:
        read_block(text, file)
    except SheetError:
        return False
    return True
