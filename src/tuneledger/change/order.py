"""The change order: one page for whoever holds the car, or the reasons why there is none."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from tuneledger.accounting import reconcile
from tuneledger.calibrations.model import Calibration
from tuneledger.change.doubts import doubts
from tuneledger.change.driving import drive
from tuneledger.change.eased import eased_protections
from tuneledger.change.edits import Change
from tuneledger.change.instructions import care, cautions, opening, questions, steps, to_log
from tuneledger.change.limits import cancelled, lifted
from tuneledger.change.lines import Line, lines_of
from tuneledger.change.raises import driven, largest, raises
from tuneledger.change.rehearse import edited_sheet
from tuneledger.errors import Fault, UsageError
from tuneledger.record import record
from tuneledger.statement.facts import called
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.supplied import open_supplied
from tuneledger.wording import count

FORMAT = "tuneledger-order/1"
NOTHING, GIVEN, WITHHELD = 0, 1, 3  # exit statuses


@record(eq=False)
class Order:
    """A change order.

    withheld:  why there is none; then nothing else of it may be carried out
    questions: what has to be answered before the edits, since a correction that protects acted
    edits:     what to enter; before is what stands in the car
    file:      which file to open: the one to edit, or the one to load as it is
    stands:    the edited sheet is a revision that exists already, and keeps its name
    besides:   everything else that loading the edited sheet changes in the car
    care:      what has to be read first where it asks for more advance than what is in the car
    steps, to_log, drive: empty where there is no order to carry out
    """

    statement: Statement
    edited: Calibration
    in_car: SuppliedSheet
    withheld: tuple[str, ...]
    questions: tuple[str, ...]
    edits: tuple[Line, ...]
    besides: tuple[Line, ...]
    cautions: tuple[str, ...]
    steps: tuple[str, ...] = ()
    to_log: tuple[str, ...] = ()
    drive: tuple[str, ...] = ()
    care: tuple[str, ...] = ()
    stands: bool = False
    file: str = ""

    @property
    def exit_status(self) -> int:
        if self.withheld:
            return WITHHELD
        return GIVEN if self.edits or self.besides else NOTHING

    @property
    def headline(self) -> str:
        if self.withheld:
            return "No change order: a sign, a role or what runs in the car is in doubt."
        if not self.edits and not self.besides:
            return "Nothing to change: what was asked for stands there already."
        edits = count(len(self.edits), "edit")
        old = self.in_car_called
        text = f"Change order: {edits} of revision {old}"
        if self.elsewhere:
            first = self.statement.sheets[0].calibration.revision
            text += f", to enter in revision {first} ({self.file})"
        if self.stands:
            text = f"Change order: revision {self.edited.revision} in place of {old}, {edits}"
        if self.besides:
            text += f", and {count(len(self.besides), 'other difference')} to what is in the car"
        if self.questions:
            text += ". Answer first what is asked about what protects the engine"
        return f"{text}. {self.care[0]}" if self.care else f"{text}."

    @property
    def elsewhere(self) -> bool:
        """Whether the file to edit is another than the one in the car."""
        return not self.stands and self.in_car is not self.statement.sheets[0]

    @property
    def in_car_called(self) -> str:
        """The revision in the car, with its file where another sheet bears the same name."""
        return called(self.statement, self.in_car.calibration.revision, self.in_car.file)


def order(
    files: Sequence[Path | str],
    *,
    changes: Path | str | None = None,
    to: Path | str | None = None,
    revision: str | None = None,
    roles_file: Path | None = None,
    memory: bool = True,
) -> Order:
    """The order for a change to the first sheet.

    files: logs of the car and its sheets, told apart by content; the first sheet is the one that is
    edited, and the one that the log shows is what stands in the car. revision: the new one's name.
    Raises a `TuneledgerError` that says which file cannot be used and why.
    """
    supplied = open_supplied([Path(file) for file in files], roles_file=roles_file, memory=memory)
    if not supplied.sheets:
        raise UsageError(Fault("there is no sheet among the files", do="Add the one to edit."))
    old = supplied.sheets[0]
    edited, changed = edited_sheet(old.calibration, old.file, changes=changes, to=to)
    if revision:
        edited = edited.model_copy(update={"revision": revision})
    stands = to is not None and not revision
    file = Path(to).name if to is not None and stands else old.file
    return order_of(reconcile(supplied), edited, changed, stands=stands, file=file)


def order_of(
    statement: Statement,
    edited: Calibration,
    changes: Sequence[Change],
    *,
    stands: bool = False,
    file: str = "",
) -> Order:
    """The order from a statement and the edited first sheet.

    stands: it is no new revision but one that exists already
    file:   the one to open; the first sheet's where none is named, unless `stands`
    """
    in_car = _in_car(statement)
    old, car = statement.sheets[0].calibration, in_car.calibration
    lines = lines_of(car, old, edited, changes)
    raised = raises(car, edited, driven(statement, car, edited))
    limits = lifted(car, edited)
    limited = cancelled(edited) if limits.cancels else []
    protecting = eased_protections(car, edited)
    protecting += [c for c in limited if all(c.id != one.id for one in protecting)]
    first = care(raised, limits.says)
    withheld = tuple(doubts(statement, lines.touched))
    made = Order(
        statement=statement,
        edited=edited,
        in_car=in_car,
        withheld=withheld,
        questions=tuple(questions(statement, protecting, limited)),
        edits=lines.edits,
        besides=lines.besides,
        cautions=cautions(statement, bool(lines.besides), bool(first) and not withheld),
        stands=stands,
        care=first,
        file=file or ("" if stands else statement.sheets[0].file),
    )
    if made.exit_status != GIVEN:
        return made
    return replace(
        made,
        steps=steps(
            made.in_car_called,
            edited.revision,
            [sheet.calibration.revision for sheet in statement.sheets],
            bool(lines.besides),
            opening(made.file, edited.revision, elsewhere=made.elsewhere, stands=stands),
            stands,
            max(largest(raised), limits.most),
        ),
        to_log=to_log(statement, edited, lines.touched),
        drive=tuple(drive(lines.edits, lines.touched, bool(raised) or limits.cancels)),
    )


def _in_car(statement: Statement) -> SuppliedSheet:
    """The sheet like which the car behaved last, by its file; the first where none is known."""
    file = statement.running.in_car if statement.running else None
    return next((s for s in statement.sheets if s.file == file), statement.sheets[0])
