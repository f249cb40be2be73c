"""What was handed over: files told apart by content, opened, and their channels identified."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tuneledger.calibrations import looks_like_sheet
from tuneledger.errors import Fault, LogError, UsageError
from tuneledger.handed import each_once, no_log, not_yet_sheets, refuse_twice
from tuneledger.logs.limits import Limits
from tuneledger.logs.registry import begin_log, open_one, open_sources, read_log
from tuneledger.logs.source import Source
from tuneledger.record import record
from tuneledger.wording import listing

if TYPE_CHECKING:
    from tuneledger.calibrations.model import Calibration
    from tuneledger.logs.model import Log
    from tuneledger.roles import Roles, RolesFile
    from tuneledger.statement.model import Statement, SuppliedSheet


@record(eq=False)
class Supplied:
    """Logs with their roles, and sheets, in the order given; the first sheet is said to run.

    told: what somebody says of each log's channels
    notes: what of an archive was left out, and why
    """

    logs: tuple[tuple["Log", "Roles"], ...]
    sheets: tuple["SuppliedSheet", ...]
    notes: tuple[str, ...] = ()
    told: tuple["RolesFile | None", ...] = ()


def keep_units(supplied: Supplied, statement: "Statement") -> "Statement":
    """Remember the units that were told, where the statement bears them out; it says which.

    A unit that is wrong makes every number wrong. Where the account does not come out, nothing
    speaks for what was told, and the next log must not be read by it unasked.
    """
    from tuneledger.roles import RolesFile, remember

    notes = []
    for (log, _), said in zip(supplied.logs, supplied.told, strict=False):
        if said is None or not said.units:
            continue
        units = listing(f'"{name}" in {unit}' for name, unit in said.units.items())
        if statement.verdict in ("cannot tell", "unexplained"):
            notes.append(f"not remembered, since this account does not bear it out: {units}")
        elif remember(log, RolesFile(units=said.units)):
            notes.append(f"remembered for logs with the same header: {units}")
    return replace(statement, notes=(*dict.fromkeys(notes), *statement.notes))


def open_supplied(
    paths: Sequence[Path],
    *,
    roles_file: Path | None = None,
    memory: bool = True,
    answers: Mapping[str, str] | None = None,
    limits: Limits | None = None,
) -> Supplied:
    """Open everything that was handed over; an archive stands for the files in it.

    memory: use what was remembered for a log with the same header
    answers: signal → channel, as somebody said when asked; for the logs that carry it
    Raises a `TuneledgerError` with every fault of the first file that cannot be used.
    """
    begun = begin_supplied(
        paths, roles_file=roles_file, memory=memory, answers=answers, limits=limits
    )
    return begun()


def begin_supplied(
    paths: Sequence[Path],
    *,
    roles_file: Path | None = None,
    memory: bool = True,
    answers: Mapping[str, str] | None = None,
    limits: Limits | None = None,
) -> Callable[[], Supplied]:
    """Begin to read the first log; what is given opens the rest, waits for it, and gives all.

    A big log is what takes long, so that nothing is imported before it that it does not need:
    sheets and roles, and whatever a command goes on with, are imported while it is being read.
    """
    refuse_twice(paths)
    opened = [source for path in paths for source in open_sources(path, limits)]
    sources, aside = not_yet_sheets(opened)
    sheets = [s for s in sources if looks_like_sheet(s.head)]
    logs, again = each_once([s for s in sources if not looks_like_sheet(s.head)])
    first = [begin_log(s, limits) for s in logs[:1]]

    def rest() -> Supplied:
        from tuneledger.roles import read_names, read_roles_file

        given_sheets = tuple(map(_sheet, sheets))
        for begun in first:
            read_names(begun.names())
        waiting = [begun.log for begun in first]
        read, notes = _logs(logs, [*waiting, *(partial(read_log, s, limits) for s in logs[1:])])
        if not read:
            raise UsageError(
                Fault(
                    "there is no log among the files",
                    expected="at least one log, and any number of calibration sheets",
                    do="Add the log of the run, or use `tuneledger sheet check` for sheets alone.",
                )
            )
        told = read_roles_file(roles_file) if roles_file else None
        calibrations = [sheet.calibration for sheet in given_sheets]
        given = [_with_answers(log, told, answers or {}) for log in read]
        roles = [
            _roles(log, calibrations, said, memory=memory)
            for log, said in zip(read, given, strict=True)
        ]
        return Supplied(
            tuple(zip(read, roles, strict=True)),
            given_sheets,
            (*aside, *again, *notes),
            tuple(given),
        )

    return rest


def open_one_log(path: Path, limits: Limits | None = None) -> "Log":
    """The log that a path stands for. LogError where it is none; a sheet, or a calibration that a
    sheet has to be made of first, is told as what it is."""
    source = open_one(path, limits)
    fault = no_log(source)
    if fault is not None:
        raise LogError(fault)
    return read_log(source, limits)


def _sheet(source: Source) -> "SuppliedSheet":
    from tuneledger.calibrations import open_calibration
    from tuneledger.statement.model import SuppliedSheet

    packed = source.folder is not None
    calibration = open_calibration(source.path, name=source.name if packed else None)
    return SuppliedSheet(source.name, calibration)


def _logs(
    sources: Sequence[Source], reads: Sequence["Callable[[], Log]"]
) -> tuple[list["Log"], tuple[str, ...]]:
    """The logs among the files. What else came in an archive is left out, and it is said."""
    logs: list[Log] = []
    left: list[LogError] = []
    for source, read in zip(sources, reads, strict=True):
        try:
            logs.append(read())
        except LogError as problem:
            if source.folder is None or len(sources) == 1:
                raise
            left.append(problem)
    if left and not logs:
        raise LogError([fault for problem in left for fault in problem.faults])
    notes = (f"{f.file}: left out, {f.found}" for problem in left for f in problem.faults)
    return logs, tuple(notes)


def _roles(
    log: "Log", sheets: Sequence["Calibration"], told: "RolesFile | None", *, memory: bool
) -> "Roles":
    """The log's roles; those that were told are remembered for the next log of this header."""
    from tuneledger.roles import RolesFile, identify, recall, remember

    found = identify(
        log, sheets=sheets, roles_file=told, remembered=recall(log) if memory else None
    )
    kept = remember(log, RolesFile(told.roles)) if memory and told is not None else None
    return replace(found, notes=(*found.notes, kept)) if kept else found


def _with_answers(
    log: "Log", told: "RolesFile | None", answers: Mapping[str, str]
) -> "RolesFile | None":
    """What is told of a log: the answers that it has a channel for, then the roles file."""
    from tuneledger.roles import RolesFile

    own = {signal: channel for signal, channel in answers.items() if log.find(channel)}
    return RolesFile(own).over(told) if own else told
