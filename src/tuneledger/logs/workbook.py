"""A log on a sheet of a workbook: XLSX, XLS or ODS.

Its cells are written out as text and read as delimited text is, so that preambles, rows of units
and words are understood alike. Reading workbooks is an extra (python-calamine).
"""

import datetime
import zlib
from collections.abc import Sequence
from dataclasses import replace
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any
from zipfile import BadZipFile

from tuneledger.errors import Fault, LogError
from tuneledger.logs.delimited import read_planned
from tuneledger.logs.delimited.plan import Plan, plan
from tuneledger.logs.limits import RAISE, Limits, bytes_text
from tuneledger.logs.packed import is_workbook
from tuneledger.logs.packed.growth import grows_beyond
from tuneledger.logs.private import PrivateFolder, no_room
from tuneledger.logs.source import Source, open_source
from tuneledger.wording import listing, visible

if TYPE_CHECKING:
    from tuneledger.logs.model import Log

_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the compound file of XLS
_MOST_CELLS = 40_000_000


def detect(source: Source) -> bool:
    """Whether a file is a workbook, by its content; never raises."""
    return source.head.startswith(_OLD) or is_workbook(source)


def why_not(source: Source) -> Fault | None:
    """Nothing: a workbook without a log says so when it is read."""
    return None


def read(source: Source, limits: Limits) -> "Log":
    """The first sheet that holds a log. LogError where there is none, or the file is damaged."""
    if find_spec("python_calamine") is None:
        raise LogError(
            Fault(
                "this is a workbook, and what reads those is not installed",
                file=source.name,
                do="Install the extra 'workbook' (pip install python-calamine); or save the sheet "
                "as delimited text.",
            )
        )
    folder = PrivateFolder()
    looked: list[str] = []
    for name, rows in _sheets(source, limits):
        looked.append(name)
        text = folder.new_file()
        try:
            text.write_text("".join(map(_line, rows)), encoding="utf-8")
        except OSError as problem:
            raise no_room(source.name, problem.strerror or str(problem)) from problem
        if not text.stat().st_size:
            continue
        as_text = open_source(text, source.name, folder)
        how = plan(as_text)
        if isinstance(how, Plan):
            log = read_planned(as_text, how, limits)
            layout = {**log.layout, "format": f"workbook, sheet '{visible(name)}'"}
            for key in ("encoding", "line ends", "delimiter", "decimal mark"):
                layout.pop(key, None)
            return replace(log, layout=layout)
    raise LogError(
        Fault(
            "no sheet of this workbook holds a log",
            file=source.name,
            place=f"sheets {listing([visible(n) for n in looked])}" if looked else None,
            expected="one header row of channel names, then samples",
            do="Put the log on a sheet of its own.",
        )
    )


def _sheets(source: Source, limits: Limits) -> Sequence[tuple[str, list[list[Any]]]]:
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        if not source.head.startswith(_OLD) and grows_beyond(source.path, limits.workbook):
            expected = f"at most {bytes_text(limits.workbook)}"
            raise LogError(
                Fault("it grows too large", file=source.name, expected=expected, do=RAISE)
            )
        with source.path.open("rb") as file, CalamineWorkbook.from_filelike(file) as book:
            out = []
            for name in book.sheet_names:
                sheet = book.get_sheet_by_name(name)
                if sheet.total_height * sheet.total_width > min(_MOST_CELLS, limits.unpacked):
                    raise LogError(
                        Fault("the sheet is too large", file=source.name, place=name, do=RAISE)
                    )
                out.append((name, sheet.to_python(skip_empty_area=True)))
            return out
    except (CalamineError, BadZipFile, zlib.error, OSError, ValueError) as problem:
        raise LogError(
            Fault(
                f"it is damaged, or no workbook ({visible(str(problem))[:120]})",
                file=source.name,
                do="Open and save it again, or save the sheet as delimited text.",
            )
        ) from problem


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
