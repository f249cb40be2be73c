"""The main map that the logs have shown."""

from collections.abc import Sequence

import numpy as np

from tuneledger.calibrations.model import Table
from tuneledger.draft.corrections import OTHER_MAP, ledgers
from tuneledger.draft.model import DraftedMap
from tuneledger.evaluate.model import Inputs
from tuneledger.explain.surface import map_columns, read_surface
from tuneledger.statement.model import Statement
from tuneledger.wording import visible


def drafted_map(statement: Statement, inputs: Sequence[Inputs]) -> DraftedMap | None:
    """The map out of the scheduled advance, or out of delivered less all that is accounted for."""
    books = ledgers(statement)
    columns = [map_columns(one) for one in inputs]
    if not columns:
        return None
    shared = set.intersection(*(set(c) for c in columns))
    asked = statement.logs[0].roles.get("scheduled advance")
    wanted, rows = [], []
    for ledger in books:
        if asked is not None:
            values = ledger.scheduled
            usable = ~ledger.void
        else:
            others = [e.values for e in ledger.entries if e.correction != OTHER_MAP]
            values = ledger.delivered - np.sum(others, axis=0) if others else ledger.delivered
            left = np.abs(ledger.beyond_leeway)
            usable = ledger.own & ~ledger.void & (left <= ledger.tolerance + ledger.slack)
        wanted.append(values)
        rows.append(usable)
    surface = read_surface(
        {name: np.concatenate([c[name] for c in columns]) for name in sorted(shared)},
        np.concatenate(wanted),
        tolerance=statement.judged_beyond_deg,
        row_s=books[0].row_s,
        rows=np.concatenate(rows),
        like=_supplied(statement),
    )
    if surface is None:
        return None
    if asked is not None:
        return DraftedMap(surface, f"the scheduled advance, {visible(asked.channel.name)}")
    return DraftedMap(surface, "the delivered advance, less the corrections listed here")


def _supplied(statement: Statement) -> Table | None:
    """The map of the sheet that the ECU behaves like, else of the first one given."""
    best = statement.sheet(statement.running.best_file) if statement.running else None
    sheets = [best] if best else statement.sheets[:1]
    return next((sheet.calibration.spark.map for sheet in sheets), None)
