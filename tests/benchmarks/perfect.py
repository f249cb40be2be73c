"""The statement and ledger that a tool which knew the truth would give for a case."""

from typing import Any

import numpy as np

from benchmarks.marks import Result
from benchmarks.truth import Case


def perfect(case: Case) -> Result:
    """A result without a miss, made from the truth; tests then spoil it in one place."""
    truth = case.truth
    statement: dict[str, Any] = {
        "format": "tuneledger-statement/1",
        "roles": {
            signal: {"channel": role["channel"], "unit": role["unit"], "certainty": 0.99}
            for signal, role in truth["roles"].items()
        },
        "tolerance_deg": truth["tolerance_deg"],
        "verdict": truth["verdict"],
        "running": truth["running"],
        "episodes": truth["episodes"],
        "causes": [
            {**cause, "certainty": 0.97, "rule": cause.get("rule")} for cause in truth["causes"]
        ],
        "needs": [{"what": need["what"], "why": "not logged"} for need in truth["needs"]],
    }
    return Result(statement, _ledger(case), _status(case))


def _status(case: Case) -> int:
    verdict = case.truth["verdict"]
    if verdict in ("agrees", "expected"):
        return int(case.truth["exits_if_expected"][0])
    return 3 if verdict == "cannot tell" else 1


def _ledger(case: Case) -> dict[str, Any]:
    columns = case.columns
    own = ("time_s", "scheduled_deg", "delivered_deg")
    table = {k: v for k, v in columns.items() if k in own or k.startswith("entry:")}
    table["entry:limit"] = columns["limit_deg"]
    table["entry:other-map"] = columns["other_map_deg"]
    table["unaccounted_deg"] = np.zeros_like(columns["time_s"])
    return table
