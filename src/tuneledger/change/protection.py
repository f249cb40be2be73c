"""A protection that acted on the first drive and is gone on the second: never good news unasked.

That it went may be the whole purpose of the change, or the one thing that kept the engine whole.
The logs cannot tell these apart; what the sheet says of it now can at least be told.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.calibrations.model import Correction
from tuneledger.change.visited import Drive, each, posted
from tuneledger.explain.model import Cause
from tuneledger.explain.nextstep import PROTECTING
from tuneledger.statement.model import Statement, SuppliedSheet


def protects(cause: Cause, statement: Statement) -> str | None:
    """The reason of a correction that took advance to protect the engine; None of all else."""
    found = _corrections(cause, statement)
    reasons = [one.reason for one in found if one.reason in PROTECTING]
    return reasons[0] if reasons and cause.degrees < 0 else None


def question(cause: Cause, after: Statement, second: Sequence[Drive | None]) -> str:
    """What is to be asked of a protection of which the second drive shows nothing any more.

    second: the drives of `after`; the correction as its first sheet has it is carried out on them
    """
    first = after.sheets[0]
    revision = f"Revision {first.calibration.revision}"
    correction = first.calibration.spark.find(cause.correction or "")
    if correction is None:
        return f"{revision} no longer has it: be sure that it was meant to go, and why it acted"
    if not correction.enabled:
        return f"{revision} has it off: be sure that it was meant to go, and why it acted"
    if not correction.has_numbers:
        return (
            f"{_no_longer_logged(correction, second)}Either nothing called for it any more, or it "
            "is off: these logs cannot tell which. Make sure that it is on before any load"
        )
    if _would_act(first, correction.id, second):
        return f"{revision} still has it, and the ECU does none of it: read the ECU back"
    return (
        f"{revision} has it so that it would take nothing here: be sure that it was meant to, and "
        "why it acted"
    )


def _corrections(cause: Cause, statement: Statement) -> list[Correction]:
    """The correction that the cause names, as every sheet has it that lists it."""
    found = (sheet.calibration.spark.find(cause.correction or "") for sheet in statement.sheets)
    return [one for one in found if one is not None]


def _no_longer_logged(correction: Correction, second: Sequence[Drive | None]) -> str:
    name = correction.logged_as
    if name is None or any(drive.account.log.find(name) for _, drive in each(second)):
        return ""
    return f"The second log does not carry {name}. "


def _would_act(sheet: SuppliedSheet, name: str, second: Sequence[Drive | None]) -> bool:
    return any(
        values is not None and bool((np.abs(np.nan_to_num(values)) > drive.ledger.tolerance).any())
        for _, drive in each(second)
        for values in [posted(sheet.calibration, name, drive)]
    )
