"""A rule read out of the log that may well be a correction which a sheet lists.

It has the conditions of one that is off there: somebody switched it on, or another revision of the
same calibration runs. Or it takes as much as one that cannot be computed, since it reads what the
log does not carry, or carries under another name.
"""

import numpy as np

from tuneledger.calibrations.model import Correction
from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.reads import read_by, read_by_rule
from tuneledger.explain.sheets import LaidSheet, label
from tuneledger.wording import degrees, listing, visible

_SAME_ROWS = 0.95  # of those in which either acts: an edge may lie a sample beside, judgement


def listed(finding: Finding, extra: Extra) -> str:
    """In which sheet it may stand, and as what, in sentences; "" where in none."""
    if extra.rule is None or extra.rule.amount_deg is None or extra.correction is not None:
        return ""
    return _listed_off(finding, extra) or _out_of_reach(finding, extra.rule.amount_deg)


def _out_of_reach(finding: Finding, amount_deg: float) -> str:
    for sheet in finding.laid:
        for correction in sheet.calibration.spark.correction:
            part, amount = sheet.parts[correction.id], correction.amount
            near = amount is not None and abs(amount - amount_deg) <= 2 * finding.book.tolerance
            if not (near and correction.enabled and part.missing) or amount is None:
                continue
            lacks = listing([f"'{visible(name)}'" for name in part.missing])
            return (
                f"It may be {correction.called} of revision {label(sheet, finding.laid)}, "
                f"{degrees(amount)}, which reads {lacks}: this log carries none of that name."
            )
    return ""


def _listed_off(finding: Finding, extra: Extra) -> str:
    for sheet in finding.laid:
        for correction in sheet.calibration.spark.correction:
            if _is_off(finding, correction) and _same(finding, extra, sheet, correction):
                where = f"Revision {label(sheet, finding.laid)} lists it as {correction.called}"
                return f"{where}, {_how(correction)}. Somebody switched it on, or another runs."
    return ""


def _how(correction: Correction) -> str:
    if correction.enabled:
        return f"with {degrees(0.0)}"
    size = "" if correction.amount is None else f", {degrees(correction.amount)}"
    return f"switched off{size}"


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
