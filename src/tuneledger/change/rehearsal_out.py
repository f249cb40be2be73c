"""A rehearsal for machines: the contract's JSON, and the ledger as it would be."""

from datetime import date, datetime
from typing import Any

import polars as pl

from tuneledger.change.edits import Change
from tuneledger.change.rehearsal import Rehearsal
from tuneledger.statement.json import rounded, significant
from tuneledger.statement.model import LogAccount
from tuneledger.statement.table import ledger_table

FORMAT = "tuneledger-rehearsal/1"


def as_json(rehearsal: Rehearsal) -> dict[str, Any]:
    """Plain values, the contract's keys in the contract's order."""
    return {
        "format": FORMAT,
        "changes": [as_change(change) for change in rehearsal.changes],
        "moved": [
            {
                "at": [significant(x) for x in cell.at],
                "mean_deg": rounded(cell.mean_deg, 3),
                "seconds": rounded(cell.seconds, 3),
            }
            for cell in rehearsal.cells
        ],
        "notes": [rehearsal.headline, *rehearsal.notes],
        "needs": [{"what": need.what, "why": need.why} for need in rehearsal.needs],
    }


def as_change(change: Change) -> dict[str, Any]:
    """One edit as JSON has it: its place, and the values before and after; None where there was
    none."""
    return {
        "place": change.place,
        "before": plain_value(change.before),
        "after": plain_value(change.after),
    }


def rehearsed_table(rehearsal: Rehearsal) -> pl.DataFrame:
    """The plain ledger's columns under the edited sheet, `rehearsed_deg` beside `delivered_deg`.

    rehearsed = scheduled + entries + unaccounted, as delivered is in the plain one. Without an
    edit every other column is the plain one's.
    """
    account = rehearsal.statement.logs[0]
    plain = ledger_table([account])
    edited = ledger_table([LogAccount(account.log, account.roles, rehearsal.ledger)])
    rehearsed = edited["delivered_deg"].alias("rehearsed_deg")
    return edited.with_columns(plain["delivered_deg"], plain["unaccounted_deg"]).insert_column(
        edited.columns.index("delivered_deg") + 1, rehearsed
    )


def plain_value(value: Any) -> Any:
    """What a sheet holds as JSON has it; dates as text."""
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: plain_value(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain_value(item) for item in value]
    return value
