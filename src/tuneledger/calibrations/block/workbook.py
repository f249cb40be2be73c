"""A block of numbers on a worksheet of a workbook (XLSX, XLS, ODS), as the text that is pasted.

Reading workbooks is an extra (python-calamine), and done in a process apart.
"""

import re
import zipfile
import zlib
from importlib.util import find_spec
from io import BytesIO

from tuneledger.bounded import at_most, how_to_raise
from tuneledger.calibrations.block import read_block
from tuneledger.calibrations.block.apart import areas
from tuneledger.calibrations.block.model import BlockText
from tuneledger.calibrations.tree import quoted
from tuneledger.errors import Fault, SheetError
from tuneledger.private import PrivateFolder
from tuneledger.wording import count, listing, visible
from tuneledger.workbooks import Bounds, WorkbookError, merged_note, worksheets
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


def worksheet_text(data: bytes, file: str, worksheet: str | None, area: str | None) -> BlockText:
    """The block as text, cells parted by tabs, with what is to be said of its worksheet.

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
    corner = (cut[0], cut[2]) if cut else (0, 0)
    sheets = _worksheets(data, file)
    texts = {name: _cropped(text, cut) for name, (text, _) in sheets.items()}
    if worksheet is not None:
        by_fold = {name.casefold(): name for name in texts}
        if worksheet.casefold() not in by_fold:
            expected = listing([quoted(name) for name in texts], "or")
            fault = Fault(f"no worksheet {quoted(worksheet)}", file=file, expected=expected)
            raise SheetError(fault)
        name = by_fold[worksheet.casefold()]
        return BlockText(_checked(texts[name], data, file, corner), sheets[name][1])
    held = [name for name, text in texts.items() if _holds_block(text, file)]
    if len(held) == 1 or len(texts) == 1:
        name = held[0] if held else next(iter(texts))
        return BlockText(_checked(texts[name], data, file, corner), sheets[name][1])
    for text in [] if held else texts.values():
        _checked(text, data, file, corner)
    names = listing([quoted(name) for name in held or texts])
    found = f"a block stands on {names}" if held else f"no block stands on {names}"
    raise SheetError(
        Fault(found, file=file, do="Say which with --worksheet, and --cells if need be.")
    )


def _checked(text: str, data: bytes, file: str, corner: tuple[int, int]) -> str:
    """The same text. SheetError where it is plain why no block can be read in it.

    corner: row and column of the worksheet, from 0, where the text begins
    """
    if _holds_block(text, file):
        return text
    apart = list(areas(text, corner, lambda part: _holds_block(part, file)))
    if len(apart) > 1:
        found = f"{count(len(apart), 'block')} stand on one worksheet, in {listing(apart)}"
        raise SheetError(Fault(found, file=file, do=f"Say which with --cells, as {apart[0]}."))
    lost = without_values(BytesIO(data))
    if lost:
        found = f"{count(lost, 'formula')} in it {'has' if lost == 1 else 'have'} no stored value"
        do = "Open it in a spreadsheet program, save it there, and hand it over again."
        raise SheetError(Fault(found, file=file, do=do))
    return text


def _worksheets(data: bytes, file: str) -> dict[str, tuple[str, tuple[str, ...]]]:
    """Every worksheet's cells, from A1 on, as text, and what is to be said of them."""
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
        return {
            one.name: (
                one.text.read_text(encoding="utf-8"),
                tuple(merged_note(one.name, one.merged)),
            )
            for one in found
        }
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
