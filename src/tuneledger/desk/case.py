"""A case: files that belong together, what somebody said of them, and its small file on the disk.

`case.json` in the case's folder holds the settings, so that a desk whose folder is kept can be
opened again. It is written whole or not at all.
"""

import json
from collections.abc import Mapping
from dataclasses import field, replace
from pathlib import Path
from typing import Any, Literal, get_args

from tuneledger.bounded import json_of
from tuneledger.calibrations.asam.files import ORDERS, Wishes
from tuneledger.change.edits import Edit
from tuneledger.pages.notes import note_of
from tuneledger.pages.shape import NoteData
from tuneledger.record import record
from tuneledger.roles import RolesFile

FILE = "case.json"
_FORMAT = "tuneledger-case/1"
_FILES = "files"


Kind = Literal["log", "sheet", "mapping", "description", "image", "instances"]
KINDS: tuple[Kind, ...] = get_args(Kind)
BECOME_SHEETS: tuple[Kind, ...] = ("image", "instances")


@record
class Paper:
    """A file of a case. `own`: it lies in the case's folder, not where its owner keeps it."""

    path: Path
    kind: Kind
    own: bool = True

    @property
    def name(self) -> str:
        return self.path.name


@record
class Settings:
    """What a statement is drawn up from.

    first: name of the sheet that is said to run; "" for the first that was handed over
    told:  which channel is which signal, as somebody said
    wishes: how a description and its images are read, where they leave it open
    """

    papers: tuple[Paper, ...] = ()
    first: str = ""
    told: RolesFile = field(default_factory=RolesFile)
    wishes: Wishes = field(default_factory=Wishes)

    def of(self, *kinds: Kind) -> list[Paper]:
        """The papers of these kinds, in the order in which they came."""
        return [paper for paper in self.papers if paper.kind in kinds]

    @property
    def logs(self) -> list[Paper]:
        return self.of("log")

    @property
    def sheets(self) -> list[Paper]:
        """Sheets and what becomes one; the one that is said to run first."""
        own = self.of("sheet", *BECOME_SHEETS)
        return sorted(own, key=lambda paper: paper.name != self.first)

    def with_papers(self, *papers: Paper) -> "Settings":
        return replace(self, papers=(*self.papers, *papers))

    def without(self, name: str) -> "Settings":
        return replace(self, papers=tuple(p for p in self.papers if p.name != name))


@record
class Record:
    """All of a case that outlives the program."""

    settings: Settings = field(default_factory=Settings)
    edits: tuple[Edit, ...] = ()
    to: str = ""  # file of the sheet that is rehearsed in place of edits
    notes: tuple[NoteData, ...] = ()


def files_of(folder: Path) -> Path:
    """Where a case's own files lie."""
    return folder / _FILES


def save_record(folder: Path, record: Record) -> None:
    """Write the case's file; OSError where the disk refuses."""
    settings = record.settings
    document = {
        "format": _FORMAT,
        "papers": [
            {"path": p.name if p.own else str(p.path), "kind": p.kind, "own": p.own}
            for p in settings.papers
        ],
        "first": settings.first,
        "roles": dict(settings.told.roles),
        "units": dict(settings.told.units),
        "wishes": wishes_as_data(settings.wishes),
        "edits": [{"place": edit.place, "to": edit.to} for edit in record.edits],
        "to": record.to,
        "notes": list(record.notes),
    }
    draft = folder / f".{FILE}.part"
    draft.write_text(json.dumps(document, ensure_ascii=False, indent=2), encoding="utf-8")
    draft.replace(folder / FILE)


def load_record(folder: Path) -> Record | None:
    """The case that lies in a folder; None where there is none, or it is damaged."""
    try:
        given = json_of((folder / FILE).read_text(encoding="utf-8"))
        if given["format"] != _FORMAT:
            return None
        papers = tuple(_paper(folder, item) for item in given["papers"])
        told = RolesFile(_words(given["roles"]), _words(given["units"]))
        edits = tuple(Edit(str(item["place"]), item["to"]) for item in given["edits"])
        notes = tuple(note for item in given["notes"] if (note := note_of(item)) is not None)
        first, to = str(given["first"]), str(given["to"])
        wishes = wishes_of(given.get("wishes", {}))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None
    kept = tuple(paper for paper in papers if paper.path.is_file())
    return Record(Settings(kept, first, told, wishes), edits, to, notes)


def _paper(folder: Path, item: Mapping[str, Any]) -> Paper:
    own, given = bool(item["own"]), Path(str(item["path"]))
    path = files_of(folder) / given.name if own else given
    kinds: dict[str, Kind] = {kind: kind for kind in KINDS}
    told = item.get("kind", "sheet" if item.get("sheet") else "log")
    return Paper(path, kinds.get(str(told), "log"), own)


def wishes_as_data(wishes: Wishes) -> dict[str, Any]:
    """What somebody wishes of the account, as the page is told it."""
    return {"shift": wishes.shift, "order": wishes.order, "mismatched": wishes.mismatched}


def wishes_of(given: Any) -> Wishes:
    """Wishes as a page or a kept case has them; TypeError or ValueError where they are none."""
    shift, order = int(given.get("shift", 0)), given.get("order") or None
    if abs(shift) > 1 << 64 or order not in (None, *ORDERS):
        raise ValueError("no such shift or order of bytes")
    return Wishes(shift, order, bool(given.get("mismatched", False)))


def _words(given: Mapping[str, Any]) -> dict[str, str]:
    return {str(key): str(value) for key, value in given.items()}
