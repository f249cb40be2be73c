"""The edited sheet as a file: under a revision name of its own, the old one's comments kept."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tuneledger.calibrations import paths
from tuneledger.calibrations.paths import Steps
from tuneledger.calibrations.text import read_text
from tuneledger.calibrations.write import to_toml
from tuneledger.change.edits import edited_text, read_changes
from tuneledger.change.order import Order
from tuneledger.errors import Fault, UsageError


def new_sheet(
    files: Sequence[Path], order: Order, changes: Path | None, revision: str | None
) -> str:
    """The text of the edited sheet.

    Raises UsageError where it would carry the old one's revision name: two files of one name are
    how the wrong one gets loaded.
    """
    old = order.statement.sheets[0]
    if order.edited.revision == old.calibration.revision:
        raise UsageError(
            Fault(
                f"the edited sheet would be revision {old.calibration.revision} again",
                do="Give it a name of its own: --revision NAME.",
            )
        )
    if changes is None:
        return to_toml(order.edited)
    source = next(file for file in files if file.name == old.file)
    edits: list[tuple[Steps, Any]] = [
        (paths.steps(old.calibration, edit.place), edit.to) for edit in read_changes(changes)
    ]
    if revision:
        edits.append((("revision",), revision))
    return edited_text(read_text(source), order.edited, edits)
