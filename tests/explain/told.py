"""Hand-made runs reconciled from their values, without a file being read."""

from collections.abc import Sequence

from tests.runs import Run, account
from tuneledger.accounting import reconcile
from tuneledger.explain.model import Cause
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.supplied import Supplied


def told(run: Run, *sheets: SuppliedSheet, **kept: bool) -> Statement:
    """The statement on one run; the first sheet is said to run."""
    return told_of([run], *sheets, **kept)


def told_of(
    runs: Sequence[Run], *sheets: SuppliedSheet, keep_own: bool = False, **kept: bool
) -> Statement:
    """The statement on several runs of one car."""
    books = [account(run, f"run-{i}.csv", **kept) for i, run in enumerate(runs, start=1)]
    return reconcile(
        Supplied(tuple((b.log, b.roles) for b in books), tuple(sheets)), keep_own=keep_own
    )


def kinds(statement: Statement) -> list[str]:
    return [cause.kind for cause in statement.causes]


def first(statement: Statement) -> Cause:
    return statement.causes[0]
