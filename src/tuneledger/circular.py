"""A sheet that was read out of a log proves nothing of that log: it fits it by its making.

Such a sheet is set aside where the running revision is to be found out, and what it was read out of
is said. On a log of another day it is a sheet like others, but for being nobody's file.
"""

from collections.abc import Sequence
from dataclasses import replace

from tuneledger.calibrations.drafted import SourceLog, fingerprint, sources_of
from tuneledger.explain.model import Rank, Running
from tuneledger.logs.model import Log
from tuneledger.record import record
from tuneledger.roles.model import Roles
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.supplied import Supplied
from tuneledger.wording import listing, visible


@record(eq=False)
class Drafted:
    """A supplied sheet that was read out of logs.

    sources: as the sheet names them
    own:     files of those supplied logs that it was read out of
    foreign: files of those that it was not
    """

    sheet: SuppliedSheet
    sources: tuple[SourceLog, ...]
    own: tuple[str, ...]
    foreign: tuple[str, ...]

    @property
    def circular(self) -> bool:
        """Nothing is supplied that could speak for or against it."""
        return bool(self.own) and not self.foreign

    @property
    def named(self) -> str:
        return f"revision {self.sheet.calibration.revision} ({self.sheet.file})"

    @property
    def note(self) -> str:
        if self.circular:
            return (
                f"{self.named} was read out of {listing(map(visible, self.own))}: that it fits is "
                "its making and proves nothing of the car's file"
            )
        origin = listing(dict.fromkeys(visible(one.file) for one in self.sources))
        text = f"{self.named} is nobody's file, it was read out of {origin}"
        if self.own:
            return f"{text}: only {listing(map(visible, self.foreign))} can speak for or against it"
        return f"{text}: where it fits, the car did again what it did there"


def drafted(supplied: Supplied) -> tuple[Drafted, ...]:
    """The sheets that say of themselves that they were read out of logs."""
    found = []
    prints: list[tuple[str, str]] | None = None
    for sheet in supplied.sheets:
        sources = sources_of(sheet.calibration)
        if not sources:
            continue
        if prints is None:
            prints = [(log.file, fingerprint_of(log, roles)) for log, roles in supplied.logs]
        known = {one.fingerprint for one in sources}
        own = tuple(file for file, made in prints if made in known)
        foreign = tuple(file for file, made in prints if made not in known)
        found.append(Drafted(sheet, sources, own, foreign))
    return tuple(found)


def fingerprint_of(log: Log, roles: Roles) -> str:
    """A log's fingerprint by its delivered advance; "" without one."""
    role = roles.get("delivered advance")
    return fingerprint(log.values(role.channel)) if role is not None else ""


def own_up(
    statement: Statement, found: Sequence[Drafted], sheets: tuple[SuppliedSheet, ...]
) -> Statement:
    """The statement with what has to be said of drafted sheets.

    sheets: all that were supplied, those that were set aside among them
    """
    circular = [one for one in found if one.circular]
    return replace(
        statement,
        sheets=sheets,
        notes=tuple(dict.fromkeys((*(one.note for one in found), *statement.notes))),
        running=_running(statement.running, circular) if circular else statement.running,
    )


def _running(running: Running | None, circular: Sequence[Drafted]) -> Running:
    """With the sheets that were set aside: nothing is known of them."""
    sheets = [one.sheet for one in circular]
    files = {sheet.file for sheet in sheets}
    aside = tuple(Rank(sheet.calibration.revision, sheet.file, None) for sheet in sheets)
    if running is None or files >= {rank.file for rank in running.ranking}:
        return Running(
            supplied=sheets[0].calibration.revision,
            best=None,
            matches_supplied=False,
            certainty=0.5,
            ranking=running.ranking if running else aside,
            spans=(),
            says=f"cannot be judged: {listing(one.named for one in circular)} was read out of "
            "these very logs",
            unjudged=tuple(files),
            read_out=tuple(files),
        )
    others = tuple(rank for rank in running.ranking if rank.file not in files)
    return replace(
        running,
        ranking=(*others, *aside),
        unjudged=tuple(dict.fromkeys((*running.unjudged, *files))),
        read_out=tuple(files),
    )
