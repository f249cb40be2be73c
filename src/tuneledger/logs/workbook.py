"""A log on a sheet of a workbook: XLSX, XLS or ODS.

Its cells are written out as text and read as delimited text is, so that preambles, rows of units
and words are understood alike. Reading workbooks is an extra (python-calamine).
"""

import zlib
from dataclasses import replace
from importlib.util import find_spec
from typing import TYPE_CHECKING
from zipfile import BadZipFile

from tuneledger.bounded import how_to_raise
from tuneledger.errors import Fault, LogError
from tuneledger.logs.delimited import read_planned
from tuneledger.logs.delimited.plan import Plan, plan
from tuneledger.logs.limits import Limits, bytes_text
from tuneledger.logs.packed import is_workbook
from tuneledger.logs.source import Source, open_source
from tuneledger.private import PrivateFolder, no_room
from tuneledger.wording import count, few, listing, visible
from tuneledger.workbooks import (
    Bounds,
    Workbook,
    WorkbookError,
    Worksheet,
    merged_note,
    read_workbook,
)
from tuneledger.workbooks.growth import grows_beyond

if TYPE_CHECKING:
    from tuneledger.logs.model import Log

_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the compound file of XLS
_NAMED = 4
_WHOLE = {
    "too many worksheets": "it holds too many sheets",
    "too much text": "its sheets become too much text",
}


def detect(source: Source) -> bool:
    """Whether a file is a workbook, by its content; never raises."""
    return source.head.startswith(_OLD) or is_workbook(source)


def why_not(source: Source) -> Fault | None:
    """Nothing: a workbook without a log says so when it is read."""
    return None


def read(source: Source, limits: Limits) -> "Log":
    """The first sheet that holds a log; what others hold one is noted.

    LogError where there is none, or the file is damaged.
    """
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
    workbook = _workbook(source, limits, folder)
    found: list[tuple[Worksheet, Log]] = []
    refused: list[LogError] = []
    for sheet in workbook.worksheets:
        try:
            log = _log_on(sheet, source, folder, limits)
        except LogError as problem:
            refused.append(problem)
            continue
        if log is not None:
            found.append((sheet, log))
    if found:
        (sheet, log), *rest = found
        layout = {**log.layout, "format": f"workbook, sheet '{visible(sheet.name)}'"}
        for key in ("encoding", "line ends", "delimiter", "decimal mark"):
            layout.pop(key, None)
        merged = merged_note(sheet.name, sheet.merged)
        notes = (*_beside(sheet, rest), *merged, *_lost(workbook), *log.notes)
        return replace(log, layout=layout, notes=notes)
    if refused:
        raise refused[0]
    looked = [visible(sheet.name) for sheet in workbook.worksheets]
    raise LogError(
        Fault(
            "no sheet of this workbook holds a log",
            file=source.name,
            place=f"sheets {few(looked, _NAMED)}" if looked else None,
            expected="one header row of channel names, then samples",
            do=" ".join([*_lost(workbook), "Put the log on a sheet of its own."]),
        )
    )


def _log_on(
    sheet: Worksheet, source: Source, folder: PrivateFolder, limits: Limits
) -> "Log | None":
    """The log on a sheet; None where it does not look like one."""
    if not sheet.text.stat().st_size:
        return None
    as_text = open_source(sheet.text, source.name, folder)
    how = plan(as_text)
    return read_planned(as_text, how, limits) if isinstance(how, Plan) else None


def _lost(workbook: Workbook) -> list[str]:
    """What is lost where whoever wrote the workbook left its formulas uncalculated."""
    lost = workbook.formulas_without_values
    if not lost:
        return []
    has = "has" if lost == 1 else "have"
    return [
        f"{count(lost, 'formula')} in the workbook {has} no stored value, and nothing is read "
        "there; open it in a spreadsheet program and save it."
    ]


def _beside(sheet: Worksheet, others: "list[tuple[Worksheet, Log]]") -> list[str]:
    """What the sheets after the one that is read hold."""
    if not others:
        return []
    rest = listing(
        [
            f"'{visible(other.name)}' ({count(log.samples, 'sample')})"
            for other, log in others[:_NAMED]
        ]
    )
    more = f" and {len(others) - _NAMED} more" if len(others) > _NAMED else ""
    return [
        f"the workbook holds {count(len(others) + 1, 'log')}: '{visible(sheet.name)}' is read, and "
        f"{rest}{more} not; save each other sheet as a file of its own to have it read"
    ]


def _workbook(source: Source, limits: Limits, folder: PrivateFolder) -> Workbook:
    try:
        if not source.head.startswith(_OLD) and grows_beyond(source.path, limits.workbook):
            expected = f"at most {bytes_text(limits.workbook)}"
            raise LogError(
                Fault("it grows too large", file=source.name, expected=expected, do=how_to_raise())
            )
        bounds = Bounds(
            limits.members, limits.cells, limits.workbook, limits.memory, limits.seconds
        )
        return read_workbook(source.path, folder.path, bounds, from_a1=False)
    except WorkbookError as problem:
        raise _refusal(source, problem, bounds) from None
    except (BadZipFile, zlib.error, OSError) as problem:
        raise _refusal(source, WorkbookError("damaged", reason=str(problem)), None) from problem


def _refusal(source: Source, problem: WorkbookError, bounds: Bounds | None) -> LogError:
    if problem.kind == "no room":
        return no_room(source.name, problem.reason)
    place = None if problem.worksheet is None else f"sheet '{visible(problem.worksheet)}'"
    if problem.kind == "damaged" or bounds is None:
        reason = f" ({visible(problem.reason)[:120]})" if problem.reason else ""
        do = "Open and save it again, or save the sheet as delimited text."
        return LogError(Fault(f"it is damaged, or no workbook{reason}", source.name, place, do=do))
    if problem.kind == "one name":
        return LogError(Fault(f"another {place} stands in it", source.name, do="Rename one."))
    if problem.kind in _WHOLE:
        expected = f"at most {_most(problem.kind, bounds)}"
        do = f"Save the sheet of the log by itself, or as delimited text. {how_to_raise()}"
        return LogError(Fault(_WHOLE[problem.kind], source.name, None, expected, do))
    most = _most(problem.kind, bounds)
    found = f"the sheet takes more than {most}, empty cells between others counted"
    do = f"Delete what stands far from the log, or save it as delimited text. {how_to_raise()}"
    return LogError(Fault(found, source.name, place, do=do))


def _most(kind: str, bounds: Bounds) -> str:
    return {
        "too many worksheets": f"{bounds.worksheets}",
        "too much text": f"{bytes_text(bounds.text)}",
        "too many cells": f"{bounds.cells} cells",
        "too much memory": f"{bytes_text(bounds.memory)} of memory",
        "too slow": f"{bounds.seconds:.0f} s",
    }[kind]
