"""Sheets in, findings and reach out."""

import os
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from tuneledger.audit.accepted import told
from tuneledger.audit.model import SEVERITIES, Audit, Finding
from tuneledger.audit.names import files_apart, revisions_apart
from tuneledger.audit.registry import each
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.model import Calibration
from tuneledger.errors import Fault, UsageError

if TYPE_CHECKING:
    from tuneledger.logs.model import Log
    from tuneledger.roles.model import Roles


def audit_files(
    paths: Sequence[Path | str], *, log: Path | str | None = None, roles: Path | None = None
) -> Audit:
    """Audit sheets, with a log of the car where there is one.

    Several sheets are revisions of one car, brought into the order in which they were saved where
    all say so, else as given. Raises a `TuneledgerError` that says which file cannot be used.
    """
    files = [Path(path) for path in paths]
    _refuse_twice(files)
    names = files_apart(files)
    opened = [(name, open_calibration(path)) for name, path in zip(names, files, strict=True)]
    return audit(_in_order(opened), log=_opened(log, roles, opened) if log else None)


def audit(
    sheets: Sequence[tuple[str, Calibration]], *, log: "tuple[Log, Roles] | None" = None
) -> Audit:
    """Audit calibrations with the names of their files, the oldest revision first."""
    audited: list[Audited] = []
    for (file, calibration), called in zip(sheets, revisions_apart(sheets), strict=True):
        before = audited[-1] if audited else None
        audited.append(Audited(file, calibration, called, before, log))
    found = [finding for sheet in audited for finding in _findings(sheet)]
    found.sort(key=lambda f: (f.accepted is not None, SEVERITIES.index(f.severity), -f.size))
    return Audit(tuple(audited), tuple(found), log[0].file if log else None)


def _findings(sheet: Audited) -> list[Finding]:
    """Every check of one sheet; one that breaks becomes a finding, and the rest goes on."""
    out: list[Finding] = []
    for name, check in each():
        try:
            out += told(name, sheet.file, sheet.calibration, check(sheet))
        except Exception as problem:
            out.append(_broken(name, sheet, problem))
    return out


def _broken(name: str, sheet: Audited, problem: Exception) -> Finding:
    return Finding(
        name,
        "doubt",
        (f"{sheet.file}:spark",),
        f"The check '{name}' stopped at a fault of its own ({type(problem).__name__}: {problem}); "
        "what it looks for was not looked for.",
        "Report it with this line; the other checks were made.",
    )


def _opened(
    log: Path | str, roles: Path | None, sheets: Sequence[tuple[str, Calibration]]
) -> "tuple[Log, Roles]":
    from tuneledger.roles import identify, read_roles_file, recall
    from tuneledger.supplied import open_one_log

    opened = open_one_log(Path(log))
    found = identify(
        opened,
        sheets=[calibration for _, calibration in sheets],
        roles_file=read_roles_file(roles) if roles else None,
        remembered=recall(opened),
    )
    return opened, found


def _in_order(sheets: list[tuple[str, Calibration]]) -> list[tuple[str, Calibration]]:
    saved = [calibration.saved for _, calibration in sheets]
    if any(when is None for when in saved):
        return sheets
    return sorted(sheets, key=lambda sheet: _when(sheet[1].saved))


def _when(saved: date | datetime | None) -> tuple[str, str]:
    """Days first, so that a date and a date with a time can stand side by side."""
    assert saved is not None
    return saved.isoformat()[:10], saved.isoformat()


def _refuse_twice(files: Sequence[Path]) -> None:
    seen: set[str] = set()
    for path in files:
        real = os.path.realpath(path)
        if real in seen:
            raise UsageError(Fault("the sheet is given twice", file=str(path), do="Name it once."))
        seen.add(real)
