"""What was handed over: files told apart by content, opened, and their channels identified."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from tuneledger.calibrations import looks_like_sheet, open_calibration
from tuneledger.calibrations.model import Calibration
from tuneledger.errors import Fault, LogError, UsageError
from tuneledger.logs import open_log
from tuneledger.logs.model import Log
from tuneledger.roles import RolesFile, identify, read_roles_file, recall, remember
from tuneledger.roles.model import Roles
from tuneledger.statement.model import SuppliedSheet

_HEAD_BYTES = 65536


@dataclass(frozen=True, eq=False)
class Supplied:
    """Logs with their roles, and sheets, in the order given; the first sheet is said to run."""

    logs: tuple[tuple[Log, Roles], ...]
    sheets: tuple[SuppliedSheet, ...]


def open_supplied(
    paths: Sequence[Path],
    *,
    roles_file: Path | None = None,
    memory: bool = True,
    answers: Mapping[str, str] | None = None,
) -> Supplied:
    """Open everything that was handed over.

    memory: use what was remembered for a log with the same header
    answers: signal → channel, as somebody said when asked; for the logs that carry it
    Raises a `TuneledgerError` with every fault of the first file that cannot be used.
    """
    _refuse_twice(paths)
    heads = {path: _head(path) for path in paths}
    sheets = tuple(
        SuppliedSheet(path.name, open_calibration(path))
        for path in paths
        if looks_like_sheet(heads[path])
    )
    logs = [open_log(path) for path in paths if not looks_like_sheet(heads[path])]
    if not logs:
        raise UsageError(
            Fault(
                "there is no log among the files",
                expected="at least one log, and any number of calibration sheets",
                do="Add the log of the run, or use `tuneledger sheet check` for sheets alone.",
            )
        )
    told = read_roles_file(roles_file) if roles_file else None
    calibrations = [sheet.calibration for sheet in sheets]
    return Supplied(
        logs=tuple(
            (log, _roles(log, calibrations, _with_answers(log, told, answers or {}), memory=memory))
            for log in logs
        ),
        sheets=sheets,
    )


def is_sheet(path: Path) -> bool:
    """Whether a file is a sheet, by its content; a `TuneledgerError` if it cannot be read."""
    return looks_like_sheet(_head(path))


def _roles(
    log: Log, sheets: Sequence[Calibration], told: RolesFile | None, *, memory: bool
) -> Roles:
    """The log's roles; what was told of them is remembered for the next log of this header."""
    found = identify(
        log, sheets=sheets, roles_file=told, remembered=recall(log) if memory else None
    )
    kept = remember(log, told) if memory and told is not None else None
    return replace(found, notes=(*found.notes, kept)) if kept else found


def _with_answers(log: Log, told: RolesFile | None, answers: Mapping[str, str]) -> RolesFile | None:
    """What is told of a log: the answers that it has a channel for, then the roles file."""
    own = {signal: channel for signal, channel in answers.items() if log.find(channel)}
    return RolesFile(own).over(told) if own else told


def _refuse_twice(paths: Sequence[Path]) -> None:
    seen: dict[Path, Path] = {}
    for path in paths:
        real = path.resolve()
        if real in seen:
            raise UsageError(
                Fault(
                    "the file is given twice",
                    file=str(path),
                    do=f"Name it once (it is the same file as {seen[real]}).",
                )
            )
        seen[real] = path


def _head(path: Path) -> bytes:
    if path.is_dir():
        raise UsageError(
            Fault(
                "this is a folder",
                file=str(path),
                expected="a log or a calibration sheet",
                do="Name the files in it.",
            )
        )
    try:
        with path.open("rb") as file:
            return file.read(_HEAD_BYTES)
    except OSError as problem:
        raise LogError(
            Fault(
                f"the file cannot be read ({problem.strerror or problem})",
                file=str(path),
                do="Check the name and that you may read it.",
            )
        ) from problem
