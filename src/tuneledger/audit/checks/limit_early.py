"""A rev limit far below the redline

**What it finds.** A correction for the rev limit that acts by engine speed alone, by its
conditions or by a table, and takes half a degree or more from less than 0.8 of
`engine.redline_rpm` on (common practice, no source).

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
from tuneledger.calibrations.model import Comparison, Correction, Reading
from tuneledger.units import convert
from tuneledger.wording import quantity

SHARE = 0.8
LEAST_DEG = 0.5


def check(sheet: Audited) -> Iterator[Said]:
    """Limits of the revs that act in the middle of them."""
    redline = sheet.calibration.engine.redline_rpm
    for path, correction in sheet.enabled:
        if not redline or correction.reason != "rev limit":
            continue
        starts = _from_rpm(correction)
        if starts is None or starts >= SHARE * redline or sheet.moves(correction).size < LEAST_DEG:
            continue
        yield Said(
            "fault",
            (path, "engine"),
            f"{called(correction)} limits the revs from {quantity(round(starts), 'rpm')} on; the "
            f"redline is {quantity(redline, 'rpm')}.",
            "Look the threshold up, and correct it or the redline.",
        )


def _from_rpm(correction: Correction) -> float | None:
    """The speed from which it acts; None where something else than a speed has a say."""
    speeds = [c for c in correction.when if isinstance(c, Comparison) and _plain(c)]
    if len(speeds) < len(correction.when) or any(c.above is None for c in speeds):
        return None
    # all of them have to hold
    starts = [float(convert(np.array([c.above]), unit_of(c), "rpm")[0]) for c in speeds]
    if correction.axes:
        (axis, *more) = correction.axes
        if more or not _plain(axis) or correction.effect != "add":
            return None
        points = convert(axis.points, unit_of(axis), "rpm")
        at = np.linspace(points[0], points[-1], 2000)
        takes = at[np.interp(at, points, np.nan_to_num(correction.grid)) <= -LEAST_DEG]
        starts += [float(takes[0])] if takes.size else []
    return max(starts, default=None)


def _plain(reading: Reading) -> bool:
    return reading.signal == "engine speed" and not (reading.minus or reading.over or reading.rate)
