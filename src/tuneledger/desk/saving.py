"""What a case is saved as: files for the browser to put away."""

import io
import json
from collections.abc import Callable
from pathlib import Path

from tuneledger.calibrations.write import to_toml
from tuneledger.change import edits as change_file
from tuneledger.desk.drawer import Case
from tuneledger.errors import Fault, UsageError
from tuneledger.pages import write_page
from tuneledger.pages.notes import notes_text
from tuneledger.statement.model import Statement

_HTML, _JSON, _CSV, _TOML = (
    "text/html; charset=utf-8",
    "application/json",
    "text/csv; charset=utf-8",
    "application/toml",
)


def saved(case: Case, what: str) -> tuple[str, str, bytes]:
    """(file name, media type, content). UsageError where there is no such thing to save."""
    made = {f"made-{index}": one for index, one in enumerate(case.finds.made)}
    if what in made:
        return made[what].name, _TOML, made[what].text.encode()
    statement = case.statement
    if statement is None or what not in _SAVERS:
        raise UsageError(Fault("there is nothing to save yet", do="Wait for the statement."))
    ending, media, write = _SAVERS[what]
    stem = Path(statement.logs[0].log.file).stem or "statement"
    return f"{stem}{ending}", media, write(case, statement)


def _page(case: Case, statement: Statement) -> bytes:
    rehearsed = case.whatif.rehearsed if case.whatif else ()
    text = write_page(statement, notes=case.notes, rehearsed=rehearsed)
    return text.encode("utf-8", "backslashreplace")


def _statement(case: Case, statement: Statement) -> bytes:
    from tuneledger.statement.json import as_json, json_text

    return json_text(as_json(statement)).encode("utf-8", "backslashreplace")


def _ledger(case: Case, statement: Statement) -> bytes:
    from tuneledger.statement.table import ledger_table

    if not any(account.ledger for account in statement.logs):
        raise UsageError(Fault("there is no ledger: no account could be drawn up"))
    buffer = io.BytesIO()
    ledger_table(statement.logs).write_csv(buffer)
    return buffer.getvalue()


def _notes(case: Case, statement: Statement) -> bytes:
    return notes_text(case.notes).encode("utf-8", "backslashreplace")


def _roles(case: Case, statement: Statement) -> bytes:
    from tuneledger.roles.files import roles_text

    text = roles_text([account.roles for account in statement.logs])
    return text.encode("utf-8", "backslashreplace")


def _changes(case: Case, statement: Statement) -> bytes:
    lines = [f'format = "{change_file.FORMAT}"']
    for edit in case.record.edits:
        lines += [
            "",
            "[[change]]",
            f"place = {json.dumps(edit.place)}",
            f"to = {json.dumps(edit.to)}",
        ]
    return ("\n".join(lines) + "\n").encode()


def _sheet(case: Case, statement: Statement) -> bytes:
    """The edited sheet under a revision name of its own: two of one name get mixed up."""
    found = case.whatif
    if found is None or not found.edits:
        raise UsageError(Fault("nothing was changed, so that there is no edited sheet"))
    edited, _ = change_file.carry_out(
        found.sheet.calibration, found.edits, file="what if", sheet=found.sheet.file
    )
    taken = {sheet.calibration.revision for sheet in statement.sheets}
    name = f"{edited.revision} what if"
    while name in taken:
        name += "+"
    return to_toml(edited.model_copy(update={"revision": name})).encode()


_Saver = Callable[[Case, Statement], bytes]
_SAVERS: dict[str, tuple[str, str, _Saver]] = {
    "page": (".html", _HTML, _page),
    "statement": (".json", _JSON, _statement),
    "ledger": (".ledger.csv", _CSV, _ledger),
    "notes": (".notes.json", _JSON, _notes),
    "roles": (".roles.toml", _TOML, _roles),
    "changes": (".changes.toml", _TOML, _changes),
    "sheet": (".what-if.toml", _TOML, _sheet),
}
