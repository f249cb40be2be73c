"""The job of a case: its papers read and reconciled, telling how far it is."""

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from tuneledger.calibrations.asam.parameter import Entry
from tuneledger.desk.case import Paper, Settings
from tuneledger.desk.limits import DeskLimits
from tuneledger.desk.making import Made, contents, make_sheets
from tuneledger.errors import Fault, TuneledgerError, UsageError
from tuneledger.private import PrivateFolder
from tuneledger.record import record
from tuneledger.roles import RolesFile
from tuneledger.roles.files import text_of
from tuneledger.statement.model import Statement
from tuneledger.wording import listing

Tell = Callable[[str], None]


@record
class Terms:
    """How cases are read. `memory`: roles are remembered by a log's header, here as elsewhere."""

    limits: DeskLimits
    memory: bool = True


@dataclass(slots=True)
class Finds:
    """What a job comes by on its way, also where there is no statement in the end.

    made:     sheets made of what came out of a control unit
    contents: what is in that, where no mapping says which of it is what
    """

    made: tuple[Made, ...] = ()
    contents: tuple[Entry, ...] = ()


def draw_up(settings: Settings, terms: Terms, tell: Tell, finds: Finds) -> Statement:
    """The statement of a case. `tell` hears, in a few words, what is being done; `finds` is filled.

    Raises a `TuneledgerError` that says which file cannot be used and why.
    """
    from tuneledger.accounting import reconcile
    from tuneledger.supplied import begin_supplied, keep_units

    _make(settings, tell, finds)
    if not settings.logs:
        raise _no_log(settings, finds)
    tell(f"reading {listing(paper.name for paper in settings.logs)}")
    folder = PrivateFolder("roles")
    try:
        sheets = _laid(settings.sheets, finds.made, folder)
        begun = begin_supplied(
            [*sheets, *(paper.path for paper in settings.logs)],
            roles_file=_roles_file(settings.told, folder.path),
            memory=terms.memory,
            limits=terms.limits.logs,
        )
        tell("finding out which channel is which")
        supplied = begun()
        notes = [note for made in finds.made for note in made.notes]
        supplied = replace(supplied, notes=(*supplied.notes, *notes))
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


def _make(settings: Settings, tell: Tell, finds: Finds) -> None:
    """Make the sheets; where that fails for want of a mapping, say what there is to name."""
    sources = settings.of("description", "image", "instances")
    if sources:
        tell(f"making a sheet of {listing(paper.name for paper in sources)}")
    try:
        finds.made = tuple(make_sheets(settings))
    except TuneledgerError:
        if sources and not settings.of("mapping"):
            with suppress(TuneledgerError):
                finds.contents = contents(settings)
        raise


def _laid(sheets: Sequence[Paper], made: Sequence[Made], folder: PrivateFolder) -> list[Path]:
    """The sheets as files, in their order; those that were made lie in the folder."""
    by_source = {one.source: one for one in made}
    paths: list[Path] = []
    for paper in sheets:
        one = by_source.get(paper.name)
        path = paper.path if one is None else folder.path / one.name
        if one is not None:
            path.write_text(one.text, encoding="utf-8")
        paths.append(path)
    return paths


def _no_log(settings: Settings, finds: Finds) -> UsageError:
    made = {one.source: one.name for one in finds.made}
    sheets = listing(made.get(paper.name, paper.name) for paper in settings.sheets)
    if made and len(made) == len(settings.sheets):
        found = f"there is no log to hold {sheets} against"
        do = "Save what was made, or add the log."
        return UsageError(Fault(found, expected="the log of a run", do=do))
    return UsageError(
        Fault(
            f"there is a sheet and no log ({sheets})" if sheets else "there is no file yet",
            expected="the log of a run, and any number of sheets",
            do="Add the log.",
        )
    )
