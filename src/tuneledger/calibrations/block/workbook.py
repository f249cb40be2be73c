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
from tuneledger.calibrations.block.model import BlockText, OnWorksheet
from tuneledger.calibrations.tree import quoted
from tuneledger.errors import Fault, SheetError
from tuneledger.private import PrivateFolder
from tuneledger.wording import count, listing, visible
from tuneledger.workbooks import Bounds, Workbook, WorkbookError, merged_note, read_workbook
from tuneledger.workbooks.growth import grows_beyond

_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the compound file of XLS
_PARTS = ("xl/workbook.xml", "xl/workbook.bin", "content.xml")
_WORKSHEETS, _CELLS = 200, 1_000_000
_MEMORY, _SECONDS = 2 << 30, 120
_UNPACKED = 1 << 29  # bytes
_TEXT = 1 << 24  # bytes of all worksheets; more takes minutes to look through
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
    workbook, whole = _read(data, file)
    notes = {one.name: tuple(merged_note(one.name, one.merged)) for one in workbook.worksheets}
    texts = {name: _cropped(text, cut) for name, text in whole.items()}

    def checked(name: str) -> BlockText:
        lost = workbook.formulas_without_values
        text = _checked(texts[name], lost, file, corner)
        return BlockText(text, notes[name], OnWorksheet(name, lost))

    if worksheet is not None:
        return checked(_called(worksheet, list(texts), file))
    held = [name for name, text in texts.items() if _holds_block(text, file)]
    if len(held) == 1 or len(texts) == 1:
        return checked(held[0] if held else next(iter(texts)))
    if not held:
        for name in texts:
            checked(name)
    names = listing([quoted(name) for name in held or texts])
    found = f"a block stands on {names}" if held else f"no block stands on {names}"
    raise SheetError(
        Fault(found, file=file, do="Say which with --worksheet, and --cells if need be.")
    )


def _called(wanted: str, names: list[str], file: str) -> str:
    """The worksheet of that name, in capitals or not, where no other comes nearer."""
    alike = [name for name in names if name.casefold() == wanted.casefold()]
    if wanted in alike:
        return wanted
    if len(alike) == 1:
        return alike[0]
    found = f"{count(len(alike), 'worksheet')} {quoted(wanted)}" if alike else ""
    expected = listing([quoted(name) for name in alike or names], "or")
    raise SheetError(Fault(found or f"no worksheet {quoted(wanted)}", file, None, expected))


def _checked(text: str, lost: int, file: str, corner: tuple[int, int]) -> str:
    """The same text. SheetError where it is plain why no block can be read in it.

    lost:   formulas without their values in the workbook
    corner: row and column of the worksheet, from 0, where the text begins
    """
    if _holds_block(text, file):
        return text
    apart = list(areas(text, corner, lambda part: _holds_block(part, file)))
    if len(apart) > 1:
        found = f"{count(len(apart), 'block')} stand on one worksheet, in {listing(apart)}"
        raise SheetError(Fault(found, file=file, do=f"Say which with --cells, as {apart[0]}."))
    if lost:
        found = f"{count(lost, 'formula')} in it {'has' if lost == 1 else 'have'} no stored value"
        do = "Open it in a spreadsheet program, save it there, and hand it over again."
        raise SheetError(Fault(found, file=file, do=do))
    return text


def _read(data: bytes, file: str) -> tuple[Workbook, dict[str, str]]:
    """A workbook, and every worksheet's cells, from A1 on, as text by its name."""
    folder = PrivateFolder()
    try:
        path = folder.new_file()
        path.write_bytes(data)
        if not data.startswith(_OLD) and grows_beyond(path, at_most(_UNPACKED)):
            expected = f"at most {at_most(_UNPACKED) >> 20} MB unpacked"
            fault = Fault("the workbook is too large", file, None, expected, how_to_raise())
            raise SheetError(fault)
        usual = (_WORKSHEETS, _CELLS, _TEXT, _MEMORY, _SECONDS)
        bounds = Bounds(*map(at_most, usual))
        found = read_workbook(path, folder.path, bounds, from_a1=True)
        return found, {one.name: one.text.read_text(encoding="utf-8") for one in found.worksheets}
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
    if problem.kind == "one name":
        return Fault(f"another {which} stands in it", file, do="Rename one.")
    if problem.kind in ("too many worksheets", "too much text"):
        found, expected = f"it has {problem.kind}", f"at most {at_most(_WORKSHEETS)}"
        if problem.kind == "too much text":
            expected = f"at most {at_most(_TEXT) >> 20} MB"
        do = f"Save the worksheet of the block by itself, or copy the block. {how_to_raise()}"
        return Fault(found, file, None, expected, do)
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
