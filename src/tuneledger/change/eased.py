"""Whether a correction is eased: whether it may take less, or less often, than before."""

import numpy as np

from tuneledger.calibrations.model import Calibration, Correction
from tuneledger.explain.nextstep import PROTECTING

# What says how much it takes, and what is only said about it.
_AMOUNTS = {"amount": None, "values": None, "enabled": True}
_REMARKS = {"title": "", "expected": None, "logged_as": None, "reason": "other"}


def eased_protections(before: Calibration, after: Calibration) -> list[Correction]:
    """What protects the engine in the one sheet and may take less, or less often, in the other.

    By an edit or by whatever else loading the other sheet brings; each as the first has it.
    """
    return [
        one
        for one in before.spark.correction
        if one.reason in PROTECTING and eased(one, after.spark.find(one.id))
    ]


def eased(before: Correction | None, after: Correction | None) -> bool:
    """True where it may now take less: smaller numbers, switched off, or told when otherwise.

    before, after: None where a sheet does not have it
    """
    if before is None or not before.enabled:
        return False
    if after is None or not after.enabled:
        return True
    same = {**_AMOUNTS, **_REMARKS}
    if before.model_copy(update=same) != after.model_copy(update=same):
        return True  # other points, conditions, times or effect: nobody can say that it takes more
    if before.grid.shape != after.grid.shape:
        return True
    known = np.isfinite(before.grid) & np.isfinite(after.grid)
    told_alike = bool((np.isfinite(before.grid) == np.isfinite(after.grid)).all())
    return not told_alike or bool((after.grid[known] > before.grid[known] + 1e-9).any())
