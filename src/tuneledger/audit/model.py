"""Findings and the audit as values."""

from typing import TYPE_CHECKING, Literal, TypeAlias, get_args

from tuneledger.record import record

if TYPE_CHECKING:
    from tuneledger.audit.sheet import Audited

Severity: TypeAlias = Literal["danger", "fault", "doubt", "note"]
SEVERITIES: tuple[Severity, ...] = get_args(Severity)

MEANS: dict[Severity, str] = {
    "danger": "may hurt the engine: settle it before the car runs under load",
    "fault": "does not do what it is written for",
    "doubt": "may be meant; someone has to say so",
    "note": "nothing is wrong; it is good to know",
}


@record
class Said:
    """What a check has to say of one sheet.

    paths: places in that sheet, the first the one to look at; they are also what an acceptance
           hangs on, so they hold all that the finding is about
    size:  degrees, or whatever orders findings of one severity, the larger first
    """

    severity: Severity
    paths: tuple[str, ...]
    says: str
    do: str
    size: float = 0.0


@record
class Finding:
    """One finding.

    places:   file and path in it, as `rev-d.toml:spark.correction[2].amount`
    accepted: the owner's reason, where it is accepted and nothing has changed since
    """

    check: str
    severity: Severity
    places: tuple[str, ...]
    says: str
    do: str
    size: float = 0.0
    accepted: str | None = None

    @property
    def file(self) -> str:
        """The file of its first place. A path holds no colon; a file's name may."""
        return self.places[0].rpartition(":")[0]


@record(eq=False)
class Audit:
    """The whole answer: sheets in the order of their revisions, findings the gravest first."""

    sheets: tuple["Audited", ...]
    findings: tuple[Finding, ...]
    log: str | None = None

    @property
    def open(self) -> tuple[Finding, ...]:
        """Findings that ask for something: no mere note, and not accepted."""
        return tuple(f for f in self.findings if f.severity != "note" and f.accepted is None)

    @property
    def exit_status(self) -> int:
        """0 nothing to say, 1 something to say, 3 no cell of any map is known."""
        if all(not sheet.knows_a_cell for sheet in self.sheets):
            return 3
        return 1 if self.open else 0
