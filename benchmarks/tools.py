"""Ways to put a case to a tool: this program in process, this program by its command, the peer."""

import json
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from benchmarks.marks import Result, Table
from benchmarks.truth import Case, read_table

UNUSABLE = 2  # the contract's exit status for input that could not be used


class NoStatementError(Exception):
    """The tool gave no statement; the message says what it said instead."""


Tool = Callable[[Case], Result]


def told_roles(case: Case) -> Result:
    """Reconcile with a roles file that says which channel is which, as the peer is told."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "roles.toml")
        path.write_text(_roles_file(case.truth["roles"]), encoding="utf-8")
        return in_process(case, path)


def _roles_file(roles: Mapping[str, Any]) -> str:
    """A roles file in the contract's form, with every channel's unit."""
    named = [f"{json.dumps(s)} = {json.dumps(r['channel'])}" for s, r in roles.items()]
    units = [f"{json.dumps(r['channel'])} = {json.dumps(r['unit'])}" for r in roles.values()]
    known = [line for line in units if not line.endswith('""')]
    return "\n".join(['format = "tuneledger-roles/1"', "[roles]", *named, "[units]", *known, ""])


def in_process(case: Case, roles_file: Path | None = None) -> Result:
    """Reconcile as the library does it; the ledger is taken as a value."""
    from tuneledger.errors import TuneledgerError
    from tuneledger.main_job import reconcile_files
    from tuneledger.statement.json import as_json, json_text

    try:
        statement = reconcile_files(case.files, roles_file=roles_file, memory=False)
    except TuneledgerError as fault:
        raise NoStatementError(f"exit {fault.exit_status}: {fault}") from fault
    except Exception as fault:  # a crash is a miss like any other, and must not end the run
        raise NoStatementError(f"crashed: {type(fault).__name__}: {fault}") from fault
    told = json.loads(json_text(as_json(statement)))
    return Result(told, _table(statement.logs[0].ledger), statement.exit_status)


def _table(ledger: object) -> Table | None:
    from tuneledger.ledger.model import Ledger

    if not isinstance(ledger, Ledger):
        return None
    columns = {
        "time_s": ledger.times,
        "scheduled_deg": ledger.scheduled,
        "delivered_deg": ledger.delivered,
    }
    for entry in ledger.entries:  # two revisions may each post one of the same id
        name = f"entry:{entry.correction}"
        columns[name] = columns[name] + entry.values if name in columns else entry.values
    return {**columns, "unaccounted_deg": ledger.unaccounted}


def installed(command: str) -> str:
    """A command of the environment in which the benchmarks run."""
    return str(Path(sys.executable).with_name(command))


def by_command(case: Case) -> Result:
    """Reconcile as a person does it: the command in a process of its own, its files read back."""
    with tempfile.TemporaryDirectory() as folder:
        told, ledger = Path(folder, "statement.json"), Path(folder, "ledger.csv")
        command = [installed("tuneledger"), "reconcile", *map(str, case.files)]
        command += ["--json", str(told), "--ledger", str(ledger), "--no-memory"]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if not told.is_file():
            lines = done.stderr.strip().splitlines() or ["said nothing"]
            raise NoStatementError(f"exit {done.returncode}: {lines[-1]}")
        statement = json.loads(told.read_text(encoding="utf-8"))
        table = read_table(ledger) if ledger.is_file() else None
        return Result(statement, table, done.returncode)
