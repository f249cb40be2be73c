"""Idle governors of a sheet, read so that a slower engine is further along."""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Axis, Correction
from tuneledger.record import record

TARGET, SPEED = "idle speed target", "engine speed"


@record(eq=False)
class Governor:
    """slow: rpm that the engine is below its target, rising; values: degrees there, the largest
    and smallest over its other axes kept apart only where it has some (then the mean)"""

    path: str
    correction: Correction
    slow: FloatArray
    values: FloatArray


def governors(sheet: Audited) -> Iterator[Governor]:
    """Additions over the difference of idle speed target and engine speed."""
    for path, correction in sheet.enabled:
        if correction.effect != "add":
            continue
        for number, axis in enumerate(correction.axes):
            side = _side(axis)
            if side == 0:
                continue
            others = tuple(i for i in range(len(correction.axes)) if i != number)
            with np.errstate(invalid="ignore"):
                values = np.nanmean(correction.grid, axis=others) if others else correction.grid
            slow = axis.points * side * (1000.0 if axis.unit == "krpm" else 1.0)
            order = np.argsort(slow)
            yield Governor(path, correction, slow[order], values[order])
            break


def _side(axis: Axis) -> int:
    """1 for target minus speed, −1 for speed minus target, 0 for anything else."""
    if axis.over or axis.rate:
        return 0
    pair = (axis.signal, axis.minus)
    return {(TARGET, SPEED): 1, (SPEED, TARGET): -1}.get(pair, 0)  # type: ignore[arg-type]
