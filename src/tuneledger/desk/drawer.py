"""The drawer: every case of this desk, with the job that draws up its statement.

A job works on settings that are only proposed. They count once it has succeeded; where it fails
and there is a statement already, that statement and its settings stay, and the fault is told.
"""

import secrets
import shutil
import threading
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from tuneledger.bounded import how_to_raise, read_whole
from tuneledger.change.edits import Edit
from tuneledger.desk.case import Record, Settings, files_of, load_record, save_record
from tuneledger.desk.intake import papers_of
from tuneledger.desk.limits import DeskLimits
from tuneledger.desk.whatif import WhatIf, what_if
from tuneledger.desk.work import Finds, Terms, draw_up
from tuneledger.errors import ChangeError, Fault, TuneledgerError, UsageError
from tuneledger.pages.notes import FORMAT, no_notes, notes_text, read_notes
from tuneledger.pages.shape import NoteData, NotesData
from tuneledger.statement.model import Statement
from tuneledger.statement.output import text_output, write_all
from tuneledger.wording import count

_AT_ONCE = 2  # jobs
OWN_FAULT = "a fault of this program's own; your files are not to blame. Please report it: "


class Case:
    """One case as it stands just now. Its lock guards what a job and a request may both change."""

    def __init__(self, name: str, folder: Path, record: Record) -> None:
        self.name = name
        self.folder = folder
        self.record = record
        self.statement: Statement | None = None
        self.whatif: WhatIf | None = None
        self.finds = Finds()
        self.before: tuple[str, str] | None = None  # verdict and headline of the one before
        self.stage = ""  # what the job is doing; "" when none is at work
        self.since = 0.0
        self.faults: tuple[Fault, ...] = ()
        self.turn = 0  # of the job whose result counts
        self.drawn = 0  # statements so far: tells a page whether it shows the last one
        self.lock = threading.RLock()

    @property
    def settings(self) -> Settings:
        return self.record.settings

    @property
    def title(self) -> str:
        names = [paper.name for paper in self.settings.logs] or [
            paper.name for paper in self.settings.papers
        ]
        more = f" and {len(names) - 1} more" if len(names) > 1 else ""
        return f"{names[0]}{more}" if names else "an empty case"

    def change(self, record: Record) -> None:
        """Take over what was said, and put it on the disk."""
        with self.lock:
            self.record = record
            save_record(self.folder, record)

    def edit(self, edits: Sequence[Edit], to: str = "") -> WhatIf | None:
        """Rehearse edits, or another sheet, in place of what was. ChangeError where it fails."""
        statement = self.statement
        found = what_if(statement, edits, to) if statement else None
        with self.lock:
            if found is not None and statement is self.statement:
                self.whatif = found
                self.change(replace(self.record, edits=found.edits, to=found.to))
        return found

    def note(self, notes: Sequence[NoteData]) -> str:
        """Keep these notes; the name of the file beside the log that holds them, "" for none.

        OutputError where that file cannot be written.
        """
        beside = self.notes_file
        self.change(replace(self.record, notes=tuple(notes)))
        if beside is None:
            return ""
        write_all([text_output(beside, notes_text(self.notes))])
        return beside.name

    @property
    def notes_file(self) -> Path | None:
        """Beside the first log that its owner keeps elsewhere; None where all were dropped."""
        kept = next((paper.path for paper in self.settings.logs if not paper.own), None)
        return kept.with_name(f"{kept.name}.notes.json") if kept else None

    @property
    def notes(self) -> NotesData:
        """The notes as a file has them."""
        files = [paper.name for paper in self.settings.papers]
        bare = no_notes(self.statement) if self.statement else None
        return NotesData(
            format=FORMAT, files=bare["files"] if bare else files, notes=list(self.record.notes)
        )


class Drawer:
    """All cases. `folder` is private to this user; `kept`: it outlives the desk."""

    def __init__(self, folder: Path, terms: Terms, *, kept: bool) -> None:
        self.folder = folder
        self.terms = terms
        self.kept = kept
        self.cases: dict[str, Case] = {}
        self._places = threading.BoundedSemaphore(_AT_ONCE)
        for place in sorted(folder.iterdir()) if kept else ():
            record = load_record(place)
            if record is not None:
                self.cases[place.name] = Case(place.name, place, record)

    @property
    def limits(self) -> DeskLimits:
        return self.terms.limits

    def begin(self) -> Case:
        """A new case. UsageError where there are too many."""
        if len(self.cases) >= self.limits.cases:
            found = f"{count(len(self.cases), 'case')} lie on the desk already"
            raise UsageError(Fault(found, do=f"Put some away first. {how_to_raise()}"))
        name = secrets.token_hex(6)
        folder = self.folder / name
        files_of(folder).mkdir(parents=True, mode=0o700)
        case = Case(name, folder, Record())
        case.change(case.record)
        self.cases[name] = case
        return case

    def lay(self, paths: Sequence[Path]) -> Case:
        """A new case of files that stay where they are, with the notes that lie beside them.

        A `TuneledgerError` where one of them cannot be read.
        """
        case = self.begin()
        settings = case.settings
        for path in paths:
            names = [paper.name for paper in settings.papers]
            found = papers_of(path, case.folder, self.limits, names)
            settings = settings.with_papers(*found)
        case.change(replace(case.record, settings=settings))
        beside = case.notes_file
        if beside is not None and beside.is_file():
            text = read_whole(beside).decode("utf-8", errors="replace")
            case.change(replace(case.record, notes=tuple(read_notes(text, str(beside)))))
        return case

    def put_away(self, case: Case) -> None:
        """Drop a case and its own files; what its owner keeps elsewhere stays."""
        with case.lock:
            case.turn += 1
        self.cases.pop(case.name, None)
        shutil.rmtree(case.folder, ignore_errors=True)

    def close(self) -> None:
        """Remove the folder unless it is kept. A job still at work ends with the program."""
        if not self.kept:
            shutil.rmtree(self.folder, ignore_errors=True)

    def read(self, case: Case, settings: Settings | None = None) -> None:
        """Draw the case's statement up anew, under other settings where some are given."""
        with case.lock:
            case.turn += 1
            case.faults = ()
            case.stage, case.since = "waiting for its turn", time.monotonic()
            turn = case.turn
        job = (case, settings or case.settings, turn)
        threading.Thread(target=self._work, args=job, daemon=True).start()

    def _work(self, case: Case, settings: Settings, turn: int) -> None:
        def tell(stage: str) -> None:
            with case.lock:
                if case.turn == turn:
                    case.stage = stage

        finds = Finds()
        try:
            with self._places:
                statement = draw_up(settings, self.terms, tell, finds)
        except TuneledgerError as problem:
            self._failed(case, settings, turn, problem.faults, finds)
        except Exception as problem:  # a job that dies silently would leave the page waiting
            fault = Fault(f"{OWN_FAULT}{type(problem).__name__}: {problem}")
            self._failed(case, settings, turn, (fault,), finds)
        else:
            self._done(case, settings, turn, statement, finds)

    def _failed(
        self,
        case: Case,
        settings: Settings,
        turn: int,
        faults: tuple[Fault, ...],
        finds: Finds,
    ) -> None:
        with case.lock:
            if case.turn != turn:
                return
            case.stage, case.faults = "", _by_name(faults, settings)
            if case.statement is None:
                case.record = replace(case.record, settings=settings)
                case.finds = finds

    def _done(
        self, case: Case, settings: Settings, turn: int, statement: Statement, finds: Finds
    ) -> None:
        faults: tuple[Fault, ...] = ()
        try:
            found = what_if(statement, case.record.edits, case.record.to)
        except ChangeError as problem:  # another sheet runs, and has no such place
            faults, found = problem.faults, what_if(statement, ())
        with case.lock:
            if case.turn != turn:
                return
            old = case.statement
            case.before = (old.verdict, old.headline) if old else None
            case.statement, case.whatif, case.finds = statement, found, finds
            case.drawn += 1
            case.stage, case.faults = "", faults
            record = replace(
                case.record,
                settings=settings,
                edits=found.edits if found else (),
                to=found.to if found else "",
            )
            with suppress(OSError):  # what was worked out is shown, whatever the disk says
                case.change(record)


def _by_name(faults: Sequence[Fault], settings: Settings) -> tuple[Fault, ...]:
    """The faults with every file called as whoever handed it over calls it, not by where the desk
    keeps it."""
    own = {str(paper.path): paper.name for paper in settings.papers if paper.own}
    return tuple(replace(f, file=own.get(f.file, f.file) if f.file else None) for f in faults)
