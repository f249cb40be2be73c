"""The job of a case: its papers read and reconciled, telling how far it is."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tuneledger.desk.case import Settings
from tuneledger.desk.limits import DeskLimits
from tuneledger.errors import Fault, UsageError
from tuneledger.logs.private import PrivateFolder
from tuneledger.roles import RolesFile
from tuneledger.roles.files import text_of
from tuneledger.statement.model import Statement
from tuneledger.wording import listing

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Terms:
    """How cases are read. `memory`: roles are remembered by a log's header, here as elsewhere."""

    limits: DeskLimits
    memory: bool = True


def draw_up(settings: Settings, terms: Terms, tell: Tell) -> Statement:
    """The statement of a case. `tell` hears, in a few words, what is being done.

    Raises a `TuneledgerError` that says which file cannot be used and why.
    """
    from tuneledger.accounting import reconcile
    from tuneledger.supplied import begin_supplied, keep_units

    if not settings.logs:
        raise _no_log(settings)
    tell(f"reading {listing(paper.name for paper in settings.logs)}")
    folder = PrivateFolder("roles")
    try:
        begun = begin_supplied(
            [paper.path for paper in (*settings.sheets, *settings.logs)],
            roles_file=_roles_file(settings.told, folder.path),
            memory=terms.memory,
            limits=terms.limits.logs,
        )
        tell("finding out which channel is which")
        supplied = begun()
    finally:
        folder.remove()
    tell("reconciling, and looking for causes")
    statement = reconcile(supplied)
    return keep_units(supplied, statement) if terms.memory else statement


def _roles_file(told: RolesFile, folder: Path) -> Path | None:
    if not told.roles and not told.units:
        return None
    path = folder / "roles.toml"
    path.write_text(text_of(told), encoding="utf-8")
    return path


def _no_log(settings: Settings) -> UsageError:
    sheets = listing(paper.name for paper in settings.sheets)
    return UsageError(
        Fault(
            f"there is a sheet and no log ({sheets})" if sheets else "there is no file yet",
            expected="the log of a run, and any number of sheets",
            do="Add the log.",
        )
    )
