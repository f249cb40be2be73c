"""Notes of a reader: causes accepted as expected, and remarks, in a small file of their own.

```json
{"format": "tuneledger-notes/1", "files": ["climb.csv", "rev-d.toml"],
 "notes": [{"cause": "correction · rain", "title": "Rain switch", "expected": true,
            "says": "it rained"}]}
```

They change no verdict: what a log shows stays what it shows.
"""

import json
from typing import Any

from tuneledger.bounded import json_of
from tuneledger.errors import Fault, UsageError
from tuneledger.pages.names import name_of, text_of
from tuneledger.pages.shape import NoteData, NotesData
from tuneledger.statement.model import Statement

FORMAT = "tuneledger-notes/1"
_MOST = 200  # notes in a file
_LARGEST_BYTES = 1_000_000


def no_notes(statement: Statement) -> NotesData:
    """The notes of a statement on which nobody has noted anything."""
    files = [a.log.file for a in statement.logs] + [s.file for s in statement.sheets]
    return NotesData(format=FORMAT, files=[name_of(file) for file in files], notes=[])


def read_notes(text: str, file: str) -> list[NoteData]:
    """The notes of a file. UsageError with what is wrong where it is none."""
    given = json_of(text) if len(text) <= _LARGEST_BYTES else None
    if not isinstance(given, dict) or given.get("format") != FORMAT:
        raise _no_notes_file(file, "this is not a file of notes")
    notes = given.get("notes")
    if not isinstance(notes, list) or len(notes) > _MOST:
        raise _no_notes_file(file, "its notes are no list, or far too many")
    return [note for item in notes if (note := note_of(item)) is not None]


def note_of(given: Any) -> NoteData | None:
    """One note, as a page or a file has it; None where it says nothing."""
    if not isinstance(given, dict):
        return None
    cause, title, says = (given.get(key) for key in ("cause", "title", "says"))
    if not isinstance(cause, str) or not cause:
        return None
    note = NoteData(
        cause=text_of(cause),
        title=name_of(title) if isinstance(title, str) else "",
        expected=given.get("expected") is True,
        says=text_of(says.strip()) if isinstance(says, str) else "",
    )
    return note if note["expected"] or note["says"] else None


def notes_text(notes: NotesData) -> str:
    """The file's text."""
    return json.dumps(notes, ensure_ascii=False, indent=2) + "\n"


def _no_notes_file(file: str, found: str) -> UsageError:
    return UsageError(Fault(found, file=file, expected=f'JSON with "format": "{FORMAT}"'))
