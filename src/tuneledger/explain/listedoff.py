"""A rule read out of the log whose conditions a sheet lists, for a correction that it has off.

Nobody has to look for such a rule: it stands in the sheet, and the car has it on. Somebody switched
it on, or another revision of the same calibration runs.
"""

import numpy as np

from tuneledger.calibrations.model import Correction
from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.reads import read_by, read_by_rule
from tuneledger.explain.sheets import LaidSheet, label
from tuneledger.wording import degrees

_SAME_ROWS = 0.95  # of those in which either acts: an edge may lie a sample beside, judgement


def listed_off(finding: Finding, extra: Extra) -> str:
    """In which sheet it stands, and as what, in words; "" where no sheet lists it so."""
    if extra.rule is None or extra.rule.amount_deg is None or extra.correction is not None:
        return ""
    for sheet in finding.laid:
        for correction in sheet.calibration.spark.correction:
            if _is_off(finding, correction) and _same(finding, extra, sheet, correction):
                amount = correction.amount
                size = f", {degrees(amount)}" if amount is not None else ""
                off = f"switched off{size}" if not correction.enabled else f"with {degrees(0.0)}"
                return (
                    f"revision {label(sheet, finding.laid)} lists it as {correction.called}, {off}"
                )
    return ""


def _is_off(finding: Finding, correction: Correction) -> bool:
    """Whether it posts nothing as the sheet has it, although it says when it would."""
    nothing = bool((np.abs(np.nan_to_num(correction.grid)) <= finding.book.tolerance).all())
    return bool(correction.when) and (not correction.enabled or nothing)


def _same(finding: Finding, extra: Extra, sheet: LaidSheet, correction: Correction) -> bool:
    """Whether both read the same channels, and hold in the same rows."""
    if extra.rule is None or read_by_rule(extra.rule) != read_by(finding.book, correction):
        return False
    judged = finding.book.judged
    theirs, ours = sheet.parts[correction.id].active & judged, extra.rows & judged
    either = int((theirs | ours).sum())
    return either > 0 and int((theirs & ours).sum()) >= _SAME_ROWS * either
