"""A block of numbers on a worksheet of a workbook (XLSX, XLS, ODS), as the text that is pasted.

Reading workbooks is an extra (python-calamine), and done in a process apart.
"""

import re
import zipfile
import zlib
from collections.abc import Iterator
from importlib.util import find_spec
from io import BytesIO

from tuneledger.bounded import at_most, how_to_raise
from tuneledger.calibrations.block import read_block
from tuneledger.calibrations.tree import quoted
from tuneledger.errors import Fault, SheetError
from tuneledger.private import PrivateFolder
from tuneledger.wording import count, listing, visible
from tuneledger.workbooks import Bounds, WorkbookError, worksheets
from tuneledger.workbooks.formulas import without_values
from tuneledger.workbooks.growth import grows_beyond

_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the compound file of XLS
_PARTS = ("xl/workbook.xml", "xl/workbook.bin", "content.xml")
_CELLS = 1_000_000
_MEMORY, _SECONDS = 2 << 30, 120
_UNPACKED = 1 << 29  # bytes
_AREA = re.compile(r"([A-Za-z]{1,3})(\d{1,7}):([A-Za-z]{1,3})(\d{1,7})")
Area = tuple[int, int, int, int]


def is_workbook(data: bytes) -> bool:
    """Whether a file is a workbook, by its content; never raises."""
    if data.startswith(_OLD):
        return True
    return data.startswith(b"PK") and not _names(data).isdisjoint(_PARTS)


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
    top = cut[0] if cut else 0
    texts = {name: _cropped(text, cut) for name, text in _worksheets(data, file).items()}
    if worksheet is not None:
        by_fold = {name.casefold(): text for name, text in texts.items()}
        if worksheet.casefold() not in by_fold:
            expected = listing([quoted(name) for name in texts], "or")
            fault = Fault(f"no worksheet {quoted(worksheet)}", file=file, expected=expected)
            raise SheetError(fault)
        return _checked(by_fold[worksheet.casefold()], data, file, top)
    held = [name for name, text in texts.items() if _holds_block(text, file)]
    if len(held) == 1 or len(texts) == 1:
        return _checked(texts[held[0] if held else next(iter(texts))], data, file, top)
    for text in [] if held else texts.values():
        _checked(text, data, file, top)
    names = listing([quoted(name) for name in held or texts])
    found = f"a block stands on {names}" if held else f"no block stands on {names}"
    raise SheetError(
        Fault(found, file=file, do="Say which with --worksheet, and --cells if need be.")
    )


def _checked(text: str, data: bytes, file: str, top: int) -> str:
    """The same text. SheetError where it is plain why no block can be read in it.

    top: the row of the worksheet, from 0, where the text begins
    """
    if _holds_block(text, file):
        return text
    apart = [rows for rows in _apart(text) if _holds_block("".join(rows.values()), file)]
    if len(apart) > 1:
        lines = listing([f"{top + min(rows) + 1} to {top + max(rows) + 1}" for rows in apart])
        found = f"{count(len(apart), 'block')} stand on one worksheet, in rows {lines}"
        raise SheetError(Fault(found, file=file, do="Say which with --cells, as A1:J10."))
    lost = without_values(BytesIO(data))
    if lost:
        found = f"{count(lost, 'formula')} in it {'has' if lost == 1 else 'have'} no stored value"
        do = "Open it in a spreadsheet program, save it there, and hand it over again."
        raise SheetError(Fault(found, file=file, do=do))
    return text


def _apart(text: str) -> Iterator[dict[int, str]]:
    """What empty rows part, each with the numbers of its rows from 0."""
    part: dict[int, str] = {}
    for number, row in enumerate(text.split("\n")):
        if row.strip():
            part[number] = f"{row}\n"
        elif part:
            yield part
            part = {}


def _worksheets(data: bytes, file: str) -> dict[str, str]:
    """Every worksheet's cells, from A1 on, as text."""
    folder = PrivateFolder()
    try:
        path = folder.new_file()
        path.write_bytes(data)
        if not data.startswith(_OLD) and grows_beyond(path, at_most(_UNPACKED)):
            expected = f"at most {at_most(_UNPACKED) >> 20} MB unpacked"
            fault = Fault("the workbook is too large", file, None, expected, how_to_raise())
            raise SheetError(fault)
        bounds = Bounds(at_most(_CELLS), at_most(_MEMORY), at_most(_SECONDS))
        found = worksheets(path, folder.path, bounds, from_a1=True)
        return {one.name: one.text.read_text(encoding="utf-8") for one in found}
    except WorkbookError as problem:
        raise SheetError(_refusal(problem, file)) from None
    except (zipfile.BadZipFile, zlib.error, OSError) as problem:
        damaged = WorkbookError("damaged", reason=str(problem))
        raise SheetError(_refusal(damaged, file)) from None
    finally:
        folder.remove()


def _refusal(problem: WorkbookError, file: str) -> Fault:
    reason = f" ({visible(problem.reason)[:120]})" if problem.reason else ""
    if problem.kind == "damaged":
        do = "Open and save it again, or copy the block."
        return Fault(f"it is damaged, or no workbook{reason}", file, do=do)
    if problem.kind == "no room":
        return Fault(f"there is no room for temporary files{reason}", file)
    which = f"worksheet {quoted(problem.worksheet)}" if problem.worksheet else "the workbook"
    return Fault(
        f"{which} has too many cells, empty ones between others counted",
        file,
        expected=f"at most {at_most(_CELLS)}",
        do=f"Delete what stands far from the block, or copy the block. {how_to_raise()}",
    )


def _names(data: bytes) -> set[str]:
    """The names of what is packed in it."""
    try:
        with zipfile.ZipFile(BytesIO(data)) as packed:
            return set(packed.namelist())
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return set()


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


def _cropped(text: str, cut: Area | None) -> str:
    """The cells that are meant, or all of them."""
    rows = text.splitlines()
    if cut is not None:
        top, bottom, left, right = cut
        rows = ["\t".join(row.split("\t")[left:right]).rstrip() for row in rows[top:bottom]]
    return "".join(f"{row}\n" for row in rows)


def _holds_block(text: str, file: str) -> bool:
    try:
        read_block(text, file)
    except SheetError:
        return False
    return True
