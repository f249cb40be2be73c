"""The worksheets of a workbook (XLSX, XLS, ODS) as text, a file for each.

Read by python-calamine, an extra, in a process apart (`child`): two cells far from each other, in a
file of a few kilobytes, make the library ask for hundreds of gigabytes and end its process.
"""

import json
from collections.abc import Sequence
from pathlib import Path
from subprocess import TimeoutExpired

from tuneledger.apart import run_apart
from tuneledger.record import record
from tuneledger.wording import few, visible

TOO_MANY_CELLS = 3  # the child's exit status where a worksheet has more cells than allowed
DAMAGED = 4  # where it cannot be read; why is its last line
NO_ROOM = 5  # where the disk does not take what is in it; likewise
TOO_LONG = 6  # where all worksheets together become more text than allowed
ONE_NAME = 7  # where a worksheet has the name of another
TOO_MANY_SHEETS = 8  # where it has more worksheets than allowed
_KINDS = {
    TOO_MANY_CELLS: "too many cells",
    DAMAGED: "damaged",
    NO_ROOM: "no room",
    TOO_LONG: "too much text",
    ONE_NAME: "one name",
    TOO_MANY_SHEETS: "too many worksheets",
}
_NOW, _INDEX = "now", "index.json"
_NAMED = 5  # merged areas


@record
class Bounds:
    """What a workbook may take.

    worksheets: how many; a few bytes name one, and any number of them may be the same
    cells:      of one worksheet, empty ones between others counted
    text:       bytes that all worksheets become as text; a shared string counts in each cell
    memory:     bytes
    """

    worksheets: int
    cells: int
    text: int
    memory: int
    seconds: float


@record
class Worksheet:
    """text: its cells parted by tabs, a line for each row; white space in a cell is one blank.

    merged: areas of cells merged into one, as `A1:D1`, a hundred at most; only the first of each
            holds a value. None of ODS, whose reader does not tell them
    """

    name: str
    text: Path
    merged: tuple[str, ...] = ()


@record
class Workbook:
    """Its worksheets, and how many formulas it keeps without the values they had."""

    worksheets: tuple[Worksheet, ...]
    formulas_without_values: int


class WorkbookError(Exception):
    """Why a workbook was not read.

    kind:      "too many worksheets", "too many cells", "too much text", "too much memory",
               "too slow", "damaged", "no room" or "one name" (for two worksheets: the library
               would read the first of them twice)
    worksheet: at which one, where that is known
    reason:    what the library or the system says, one line; "" where it says nothing
    """

    def __init__(self, kind: str, worksheet: str | None = None, reason: str = "") -> None:
        super().__init__(kind)
        self.kind, self.worksheet, self.reason = kind, worksheet, reason


def read_workbook(path: Path, folder: Path, bounds: Bounds, *, from_a1: bool) -> Workbook:
    """Every worksheet, in the order of the workbook; their texts lie in the folder.

    from_a1: rows and columns that are empty before the first cell are kept

    Raises WorkbookError.
    """
    most = (bounds.worksheets, bounds.cells, bounds.text, bounds.memory, round(bounds.seconds))
    arguments = (str(path.resolve()), str(folder), *map(str, (*most, int(from_a1))))
    try:
        done = run_apart("tuneledger.workbooks.child", *arguments, seconds=bounds.seconds)
    except TimeoutExpired:
        raise WorkbookError("too slow", _now(folder)) from None
    index = folder / _INDEX
    if done.returncode == 0 and index.exists():
        named, lost = json.loads(index.read_text(encoding="utf-8"))
        sheets = (
            Worksheet(name, place(folder, number), tuple(merged))
            for number, (name, merged) in enumerate(named)
        )
        return Workbook(tuple(sheets), lost)
    lines = done.stderr.decode("utf-8", "replace").strip().splitlines()
    if done.returncode in _KINDS:
        reason = visible(lines[-1])[:120] if lines else ""
        raise WorkbookError(_KINDS[done.returncode], _now(folder), reason)
    out_of_memory = any("memory allocation" in one or "MemoryError" in one for one in lines)
    raise WorkbookError("too much memory" if out_of_memory else "damaged", _now(folder))


def place(folder: Path, number: int) -> Path:
    """Where the text of a worksheet lies, counted from 0."""
    return folder / f"worksheet-{number}.txt"


def begin(folder: Path, worksheet: str) -> None:
    """Note which worksheet is being read, for whoever has to say where it broke."""
    (folder / _NOW).write_text(worksheet, encoding="utf-8")


def finish(folder: Path, read: list[tuple[str, list[str]]], formulas_without_values: int) -> None:
    """Note that all of them were read: each one's name, and its merged cells."""
    (folder / _INDEX).write_text(json.dumps([read, formulas_without_values]), encoding="utf-8")


def merged_note(worksheet: str, areas: Sequence[str]) -> list[str]:
    """What was done with merged cells, as a sentence; none where there are none."""
    if not areas:
        return []
    return [
        f"merged cells on worksheet '{visible(worksheet)}' ({few(areas, _NAMED)}): the first of "
        "each holds its value, the others are read as empty"
    ]


def area(top: int, left: int, bottom: int, right: int) -> str:
    """Cells from one corner to the other, counted from 0, as `A1:D5`."""
    return f"{_letters(left)}{top + 1}:{_letters(right)}{bottom + 1}"


def _letters(column: int) -> str:
    text = ""
    while column >= 0:
        column, last = divmod(column, 26)
        text = chr(ord("A") + last) + text
        column -= 1
    return text


def _now(folder: Path) -> str | None:
    try:
        return (folder / _NOW).read_text(encoding="utf-8")
    except OSError:
        return None
