"""What is scored, and the mark of one question."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tuneledger.arrays import FloatArray

Table = Mapping[str, FloatArray]
Report = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Point:
    """One question put to a statement. `ok` is None where the case does not ask it."""

    name: str
    ok: bool | None
    reason: str = ""
    figure: float | None = None


@dataclass(frozen=True)
class Result:
    """What a tool gave for a case: its statement, its ledger if any, its exit status if known."""

    statement: Report
    ledger: Table | None = None
    status: int | None = None
