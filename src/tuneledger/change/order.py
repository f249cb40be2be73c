"""The change order: one page for whoever holds the car, or the reasons why there is none."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tuneledger.accounting import reconcile
from tuneledger.calibrations.model import Calibration, Correction
from tuneledger.change.differences import differences, place_of
from tuneledger.change.doubts import doubts
from tuneledger.change.eased import eased_protections
from tuneledger.change.edits import Change
from tuneledger.change.instructions import care, cautions, drive, questions, steps, to_log
from tuneledger.change.limits import cancelled, lifted
from tuneledger.change.places import place_words
from tuneledger.change.raises import driven, largest, raises
from tuneledger.change.rehearse import edited_sheet
from tuneledger.errors import Fault, SheetError, UsageError
from tuneledger.statement.facts import called
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.supplied import open_supplied
from tuneledger.wording import count

FORMAT = "tuneledger-order/1"


@dataclass(frozen=True, slots=True)
class Line:
    """One edit, or one difference, with the place in words."""

    place: str
    what: str
    before: Any
    after: Any


@dataclass(frozen=True, eq=False)
class Order:
    """A change order.

    withheld:  why there is none; then nothing else of it may be carried out
    questions: what has to be answered before the edits, since a correction that protects acted
    edits:     what to enter; before is what stands in the car
    stands:    the edited sheet is a revision that exists already, and keeps its name
    besides:   everything else that loading the edited sheet changes in the car
    care:      what has to be read first where it asks for more advance than what is in the car
    """

    statement: Statement
    edited: Calibration
    in_car: SuppliedSheet
    withheld: tuple[str, ...]
    questions: tuple[str, ...]
    edits: tuple[Line, ...]
    besides: tuple[Line, ...]
    steps: tuple[str, ...]
    to_log: tuple[str, ...]
    drive: tuple[str, ...]
    cautions: tuple[str, ...]
    care: tuple[str, ...] = ()
    stands: bool = False

    @property
    def exit_status(self) -> int:
        """0 nothing to change, 1 an order, 3 withheld."""
        return 3 if self.withheld else 1 if self.edits or self.besides else 0

    @property
    def headline(self) -> str:
        if self.withheld:
            return "No change order: a sign, a role or what runs in the car is in doubt."
        if not self.edits and not self.besides:
            return "Nothing to change: what was asked for stands there already."
        edits = count(len(self.edits), "edit")
        old = self.in_car_called
        text = f"Change order: {edits} of revision {old}"
        if self.stands:
            text = f"Change order: revision {self.edited.revision} in place of {old}, {edits}"
        if self.besides:
            text += f", and {count(len(self.besides), 'other difference')} to what is in the car"
        if self.questions:
            text += ". Answer first what is asked about what protects the engine"
        return f"{text}. {self.care[0]}" if self.care else f"{text}."

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
    return order_of(reconcile(supplied), edited, changed, stands=to is not None and not revision)


def order_of(
    statement: Statement, edited: Calibration, changes: Sequence[Change], *, stands: bool = False
) -> Order:
    """The order from a statement and the edited first sheet.

    stands: it is no new revision but one that exists already
    """
    old, in_car = statement.sheets[0], _in_car(statement)
    asked = {_by_id(change.place, old.calibration, edited) for change in changes}
    lines = [
        Line(c.place, place_words(c.place, edited, in_car.calibration), c.before, c.after)
        for c in differences(in_car.calibration, edited)
    ]
    edits = tuple(one for one in lines if _is_asked(one.place, asked))
    besides = tuple(one for one in lines if not _is_asked(one.place, asked))
    touched = _touched(old.calibration, edited, asked)
    taken = [sheet.calibration.revision for sheet in statement.sheets]
    raised = raises(in_car.calibration, edited, driven(statement, in_car.calibration, edited))
    limits = lifted(in_car.calibration, edited)
    limited = cancelled(edited) if limits.cancels else []
    protecting = eased_protections(in_car.calibration, edited)
    protecting += [c for c in limited if all(c.id != one.id for one in protecting)]
    first = care(raised, limits.says)
    withheld = tuple(doubts(statement, touched))
    return Order(
        statement=statement,
        edited=edited,
        in_car=in_car,
        withheld=withheld,
        questions=tuple(questions(statement, protecting, limited)),
        edits=edits,
        besides=besides,
        steps=steps(
            called(statement, in_car.calibration.revision, in_car.file),
            edited.revision,
            taken,
            bool(besides),
            stands,
            max(largest(raised), limits.most),
        ),
        to_log=to_log(statement, edited, touched),
        drive=tuple(drive(edits, touched, bool(raised) or limits.cancels)),
        cautions=cautions(statement, bool(besides), bool(first) and not withheld),
        stands=stands,
        care=first,
    )


def _in_car(statement: Statement) -> SuppliedSheet:
    """The sheet like which the car behaved last, by its file; the first where none is known."""
    file = statement.running.in_car if statement.running else None
    return next((s for s in statement.sheets if s.file == file), statement.sheets[0])


def _by_id(place: str, old: Calibration, edited: Calibration) -> str:
    """The place with its correction by id, as differences have it; the old sheet may lack it."""
    from tuneledger.calibrations import paths

    try:
        sheet, where = old, paths.steps(old, place)
    except SheetError:
        sheet, where = edited, paths.steps(edited, place)
    if where[:2] == ("spark", "correction") and len(where) > 2 and isinstance(where[2], int):
        if where[2] >= len(sheet.spark.correction):
            return paths.joined(where)
        rest = paths.joined(where[3:])
        start = place_of(sheet.spark.correction[where[2]].id)
        return f"{start}{'' if not rest or rest.startswith('[') else '.'}{rest}"
    return paths.joined(where)


def _is_asked(place: str, asked: set[str]) -> bool:
    """Whether a difference lies at, or within, a place that was to be edited."""
    return any(place == one or place.startswith((f"{one}.", f"{one}[")) for one in asked)


def _touched(old: Calibration, edited: Calibration, asked: set[str]) -> list[Correction]:
    """The corrections that the edits change, as the edited sheet has them, else the old one."""
    out: list[Correction] = []
    for sheet in (edited, old):
        for correction in sheet.spark.correction:
            start = place_of(correction.id)
            hit = any(one == start or one.startswith((f"{start}.", f"{start}[")) for one in asked)
            if hit and all(c.id != correction.id for c in out):
                out.append(correction)
    return out
