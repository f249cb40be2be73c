"""A rev limit far below the redline

**What it finds.** A correction for the rev limit that acts by engine speed alone, from less than
0.8 of `engine.redline_rpm` on (common practice, no source).

**Why it matters.** A rev limit takes the advance away that holds the engine back at its end. Far
below, it does so in the middle of the driving: power is gone, and late combustion heats exhaust,
valves and turbo. The usual cause is a digit.

**Example.** `redline_rpm = 7400` and `above = 4000`: meant was 7650.

**What to do.** Look up the threshold; correct it or the redline, whichever is wrong.

**When to ignore it.** A lower limit for the pit lane, a cold engine or the start line is common; it
has a condition beside the speed, and is then left alone.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, unit_of
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Comparison
from tuneledger.units import convert
from tuneledger.wording import quantity

SHARE = 0.8


def check(sheet: Audited) -> Iterator[Said]:
    """Limits of the revs that act in the middle of them."""
    redline = sheet.calibration.engine.redline_rpm
    for path, correction in sheet.enabled:
        speeds = [c for c in correction.when if isinstance(c, Comparison) and _from_a_speed(c)]
        alone = len(speeds) == len(correction.when) > 0
        if not redline or correction.reason != "rev limit" or not alone:
            continue
        last = max(speeds, key=_rpm)  # all of them have to hold
        if _rpm(last) < SHARE * redline and sheet.moves(correction).size > 0.05:
            yield Said(
                "fault",
                (path, "engine"),
                f"{called(correction)} limits the revs from {quantity(_rpm(last), 'rpm')} on; "
                f"the redline is {quantity(redline, 'rpm')}.",
                "Look the threshold up, and correct it or the redline.",
            )


def _from_a_speed(c: Comparison) -> bool:
    plain = not (c.minus or c.over or c.rate)
    return plain and c.signal == "engine speed" and c.above is not None


def _rpm(c: Comparison) -> float:
    return float(convert(np.array([float(c.above or 0.0)]), unit_of(c), "rpm")[0])
