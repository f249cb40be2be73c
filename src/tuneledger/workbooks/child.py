"""Runs apart: writes the worksheets of a workbook as text.

Called as `python -m tuneledger.workbooks.child FILE FOLDER BOUNDS... FROM_A1`.
"""

import datetime
import sys
from pathlib import Path
from typing import Any

from tuneledger.bounded import IN_PLACE_OF_LONG_TEXT, LONGEST_TEXT, bound_process
from tuneledger.workbooks import (
    DAMAGED,
    NO_ROOM,
    ONE_NAME,
    TOO_LONG,
    TOO_MANY_CELLS,
    TOO_MANY_SHEETS,
    area,
    begin,
    finish,
    place,
)
from tuneledger.workbooks.formulas import without_values

_MOST_MERGED = 100
_LONGEST_NAME = 200  # letters; XLSX has at most 31
_WHOLE = 1e15  # below it a whole number is written as one, with all its digits


class _NoRoomError(Exception):
    """The text of a worksheet finds no room; says why."""


def main(arguments: list[str]) -> int:
    """Read a workbook in this process apart and leave its worksheets in the folder; the exit
    status.

    arguments: file, folder, the bounds in the order of `Bounds`, 1 where addresses count from A1
    """
    file, folder, *bounds, from_a1 = arguments
    sheets, cells, text, memory, seconds = map(int, bounds)
    bound_process(memory, seconds)
    from python_calamine import CalamineError

    try:
        most = (sheets, cells, text)
        return _written(Path(file), Path(folder), most, from_a1=from_a1 == "1")
    except _NoRoomError as problem:
        sys.stderr.write(f"{problem}\n")
        return NO_ROOM
    except (CalamineError, OSError, ValueError) as problem:
        sys.stderr.write(f"{' '.join(str(problem).split())}\n")
        return DAMAGED


def _written(file: Path, folder: Path, most: tuple[int, int, int], *, from_a1: bool) -> int:
    """The exit status. most: worksheets, cells of one, bytes of text."""
    from python_calamine import CalamineWorkbook

    read: dict[str, list[str]] = {}
    sheets, cells, text = most
    with file.open("rb") as data, CalamineWorkbook.from_filelike(data) as book:
        if len(book.sheet_names) > sheets:
            return TOO_MANY_SHEETS
        for number, whole_name in enumerate(book.sheet_names):
            name = whole_name[:_LONGEST_NAME]
            begin(folder, name)
            if name in read:
                return ONE_NAME
            sheet = book.get_sheet_by_name(whole_name)
            row, column = sheet.end or (-1, -1)  # of the last cell, counted from 0
            if (row + 1) * (column + 1) > cells:
                return TOO_MANY_CELLS
            rows = sheet.to_python(skip_empty_area=not from_a1)
            text -= _kept(place(folder, number), rows, text)
            if text < 0:
                return TOO_LONG
            read[name] = _merged(sheet)
    finish(folder, list(read.items()), without_values(file))
    return 0


def _merged(sheet: Any) -> list[str]:
    """Areas of merged cells; none where the format's reader does not tell them."""
    found = sheet.merged_cell_ranges or []
    return [area(*first, *last) for first, last in found[:_MOST_MERGED]]


def _kept(path: Path, rows: list[list[Any]], most: int) -> int:
    """How many bytes the rows take; only as many are written as may be, and one row more."""
    written = 0
    try:
        with path.open("wb") as out:
            for row in rows:
                written += out.write(_line(row).encode())
                if written > most:
                    break
    except OSError as problem:
        raise _NoRoomError(problem.strerror or str(problem)) from problem
    return written


def _line(cells: list[Any]) -> str:
    return "\t".join(map(_text, cells)).rstrip() + "\n"


def _text(cell: Any) -> str:
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < _WHOLE else repr(cell)
    if isinstance(cell, datetime.datetime):
        return cell.isoformat(sep=" ")
    if isinstance(cell, datetime.timedelta):
        return repr(cell.total_seconds())
    text = " ".join(str(cell).split())
    return text if len(text) <= LONGEST_TEXT else IN_PLACE_OF_LONG_TEXT


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
