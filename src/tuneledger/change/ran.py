"""Which of several supplied revisions each drive of a proof ran: was the change loaded at all?

A cause that remains may remain because the change does not help, or because it never got into the
car. Where several sheets are given, the two can be told apart.
"""

from tuneledger.explain.model import SURE
from tuneledger.record import record
from tuneledger.statement.facts import called
from tuneledger.statement.model import Statement
from tuneledger.wording import listing

# Sheets whose misfits are this close say the same about a drive, degrees.
_SAME_DEG = 0.1


@record
class Ran:
    """The sheet like which a drive behaves.

    name:   what to call it
    whole:  it accounts for the drive; else it is the nearest one, beside something in no file
    others: what to call the other sheets
    alike:  those of them that the drive cannot tell from it
    """

    file: str
    name: str
    whole: bool
    others: tuple[str, ...]
    alike: tuple[str, ...]

    @property
    def says(self) -> str:
        how = "like" if self.whole else "nearest to"
        if self.alike:
            names = listing((self.name, *self.alike), "or")
            return f"{how} revision {names}, which this drive cannot tell apart"
        return f"{how} revision {self.name}"


def ran(statement: Statement) -> Ran | None:
    """The sheet that a drive ran, or ran last; None where it was like none, or of one sheet."""
    running, sheets = statement.running, statement.sheets
    if running is None or len(sheets) < 2:
        return None
    file = running.in_car or running.best_file or _at_work(statement)
    judged = [s for s in sheets if s.file not in running.unjudged]
    own = next((s for s in judged if s.file == file), None)
    if own is None:
        return None
    whole = running.best is not None
    off = {rank.file: rank.misfit_deg for rank in running.ranking}
    mine = off.get(own.file)
    alike = set(running.twins)
    if not whole and mine is not None:
        alike |= {f for f, o in off.items() if o is not None and o <= mine + _SAME_DEG}
    names = {s.file: called(statement, s.calibration.revision, s.file) for s in judged}
    others = [f for f in names if f != own.file]
    return Ran(
        own.file,
        names[own.file],
        whole,
        tuple(names[f] for f in others),
        tuple(names[f] for f in others if f in alike),
    )


def _at_work(statement: Statement) -> str | None:
    """The one sheet whose corrections were surely found at work; None where it is not one."""
    files = {
        cause.file
        for cause in statement.causes
        if cause.entry is not None and cause.file is not None and cause.certainty >= SURE
    }
    return next(iter(files)) if len(files) == 1 else None


def change_of(before: Ran | None, after: Ran | None) -> str:
    """What the two drives say of a change of revision, a phrase; empty where they do not tell."""
    if before is None or after is None or before.alike or after.alike:
        return ""
    if before.file != after.file:
        now = "runs" if after.whole else "is nearest to"
        return f"the car ran revision {before.name} before, and {now} {after.name} now"
    if len(after.others) != 1:
        return f"both drives are {after.says}" if after.whole == before.whole else ""
    (other,) = after.others
    if before.whole and after.whole:
        return f"both drives are like revision {after.name}: {other} is not in the car"
    return f"both drives are nearest to revision {after.name}: nothing shows {other} in the car"
