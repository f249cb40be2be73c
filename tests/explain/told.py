"""Hand-made runs reconciled from their values, without a file being read.

A statement never changes, so tests that ask for the same one soon after each other share it.
"""

import pickle
from collections import OrderedDict
from collections.abc import Sequence

from tests.runs import Run, account
from tuneledger.accounting import reconcile
from tuneledger.explain.model import Cause
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.supplied import Supplied

_KEPT = 24
_TOLD: OrderedDict[bytes, Statement] = OrderedDict()


def told(run: Run, *sheets: SuppliedSheet, **kept: bool) -> Statement:
    """The statement on one run; the first sheet is said to run."""
    return told_of([run], *sheets, **kept)


def told_of(
    runs: Sequence[Run], *sheets: SuppliedSheet, keep_own: bool = False, **kept: bool
) -> Statement:
    """The statement on several runs of one car."""
    given = [(sheet.file, sheet.calibration.given) for sheet in sheets]
    asked = pickle.dumps((list(runs), given, keep_own, kept))
    if asked not in _TOLD:
        books = [account(run, f"run-{i}.csv", **kept) for i, run in enumerate(runs, start=1)]
        supplied = Supplied(tuple((b.log, b.roles) for b in books), tuple(sheets))
        _TOLD[asked] = reconcile(supplied, keep_own=keep_own)
    _TOLD.move_to_end(asked)
    while len(_TOLD) > _KEPT:
        _TOLD.popitem(last=False)
    return _TOLD[asked]


def kinds(statement: Statement) -> list[str]:
    return [cause.kind for cause in statement.causes]


def first(statement: Statement) -> Cause:
    return statement.causes[0]
