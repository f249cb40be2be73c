"""Runs apart: writes the worksheets of a workbook as text.

Called as `python -m tuneledger.workbooks.child FILE FOLDER CELLS MEMORY SECONDS FROM_A1`.
"""

import datetime
import sys
from pathlib import Path
from typing import Any

from tuneledger.bounded import bound_process
from tuneledger.workbooks import DAMAGED, NO_ROOM, TOO_MANY, area, begin, finish, place

_MOST_MERGED = 100


class _NoRoomError(Exception):
    """The text of a worksheet finds no room; says why."""


def main(arguments: list[str]) -> int:
    """Read a workbook in this process apart and leave its worksheets in the folder; the exit
    status.

    arguments: file, folder, most cells, bytes of memory, seconds, 1 where addresses count from A1
    """
    file, folder, cells, memory, seconds, from_a1 = arguments
    bound_process(int(memory), int(seconds))
    from python_calamine import CalamineError

    try:
        return _written(Path(file), Path(folder), int(cells), from_a1=from_a1 == "1")
    except _NoRoomError as problem:
        sys.stderr.write(f"{problem}\n")
        return NO_ROOM
    except (CalamineError, OSError, ValueError) as problem:
        sys.stderr.write(f"{' '.join(str(problem).split())}\n")
        return DAMAGED


def _written(file: Path, folder: Path, most: int, *, from_a1: bool) -> int:
    from python_calamine import CalamineWorkbook

    read: list[tuple[str, list[str]]] = []
    with file.open("rb") as data, CalamineWorkbook.from_filelike(data) as book:
        for number, name in enumerate(book.sheet_names):
            begin(folder, name)
            sheet = book.get_sheet_by_name(name)
            row, column = sheet.end or (-1, -1)  # of the last cell, counted from 0
            if (row + 1) * (column + 1) > most:
                return TOO_MANY
            _keep(place(folder, number), sheet.to_python(skip_empty_area=not from_a1))
            read.append((name, _merged(sheet)))
    finish(folder, read)
    return 0


def _merged(sheet: Any) -> list[str]:
    """Areas of merged cells; none where the format's reader does not tell them."""
    found = sheet.merged_cell_ranges or []
    return [area(*first, *last) for first, last in found[:_MOST_MERGED]]


def _keep(path: Path, rows: list[list[Any]]) -> None:
    try:
        with path.open("w", encoding="utf-8", newline="\n") as out:
            out.writelines(map(_line, rows))
    except OSError as problem:
        raise _NoRoomError(problem.strerror or str(problem)) from problem


def _line(cells: list[Any]) -> str:
    return "\t".join(map(_text, cells)).rstrip() + "\n"


def _text(cell: Any) -> str:
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() else repr(cell)
    if isinstance(cell, datetime.datetime):
        return cell.isoformat(sep=" ")
    if isinstance(cell, datetime.timedelta):
        return repr(cell.total_seconds())
    return " ".join(str(cell).split())


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
