"""The main job: logs and sheets in, a statement out."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tuneledger.logs.limits import Limits
from tuneledger.supplied import begin_supplied, keep_units

if TYPE_CHECKING:
    from tuneledger.statement.model import Statement


def reconcile_files(
    paths: Sequence[Path],
    *,
    roles_file: Path | None = None,
    memory: bool = True,
    answers: Mapping[str, str] | None = None,
    limits: Limits | None = None,
    keep_own: bool = False,
    meanwhile: Callable[[], None] | None = None,
) -> "Statement":
    """Reconcile the files, logs and sheets in any order, told apart by content.

    answers: signal → channel, as somebody said when asked; it overrules the roles file
    keep_own: see `tuneledger.accounting.reconcile`
    meanwhile: what may be done while the first log is being read
    Raises a `TuneledgerError` that says which file cannot be used and why.
    """
    supplied = begin_supplied(
        paths, roles_file=roles_file, memory=memory, answers=answers, limits=limits
    )
    # A log is being read; the many rooms that explain it are imported beside it.
    from tuneledger.accounting import reconcile

    if meanwhile is not None:
        meanwhile()
    given = supplied()
    statement = reconcile(given, keep_own=keep_own)
    return keep_units(given, statement) if memory else statement
