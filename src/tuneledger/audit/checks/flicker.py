"""A threshold that may flicker for want of hysteresis

**What it finds.** A threshold on a measured quantity without `release`, `held` or `linger`, at
which the correction steps by 1° or more at once (common practice, no source): no ramp eases it,
and its own table does not begin at zero there.

**Why it matters.** A reading that rests at the threshold crosses it many times a second, by noise
alone. The advance jumps with it, the engine surges, and the log is full of short episodes.

**Example.** `amount = -4.0`, `when` throttle position above 55 %. With `release = 50`, or `ramp =
20.0`, it is not told.

**What to do.** Give the threshold a release a little further back than the noise, or a `held`.

**When to ignore it.** Where the control unit has a hysteresis of its own that the sheet cannot
say, and where nothing ever rests at the threshold.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.conditions import comparisons
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, in_words
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Comparison, Correction
from tuneledger.wording import count, degrees, listing

LEAST_DEG = 1.0
STEPPED = ("gear",)


def check(sheet: Audited) -> Iterator[Said]:
    """Thresholds at which an enabled correction may switch to and fro."""
    for path, correction in sheet.enabled:
        if correction.ramp is not None or correction.until is not None:
            continue
        size = sheet.moves(correction).size
        bare = [
            c
            for c in comparisons(correction)
            if _bare(c) and _step(correction, c, size) >= LEAST_DEG
        ]
        if not bare or size < LEAST_DEG:
            continue
        step = max(_step(correction, c, size) for c in bare)
        words = listing(f"'{in_words(c)}'" for c in bare)
        yield Said(
            "doubt",
            (path,),
            f"{called(correction)} steps by up to {degrees(step, signed=False)} at "
            f"{words}, without hysteresis: a reading that rests there makes it flicker.",
            f"Give the {count(len(bare), 'threshold').partition(' ')[2]} a release value, or a "
            "time to be held.",
            step,
        )


def _bare(c: Comparison) -> bool:
    compared = c.above is not None or c.below is not None or c.between is not None
    plain = c.release is None and not c.held and not c.linger and c.since is None
    return compared and plain and c.signal not in STEPPED and c.rate is None


def _step(correction: Correction, c: Comparison, size: float) -> float:
    """How far it jumps at a threshold: its table's value there where it runs along the same."""
    marks = [m for m in (c.above, c.below, *(c.between or ())) if m is not None]
    if correction.effect == "add" and len(correction.axes) == 1:
        axis = correction.axes[0]
        same = ("signal", "channel", "minus", "over", "rate", "unit")
        if all(getattr(axis, key) == getattr(c, key) for key in same):
            return float(np.max(np.abs(np.interp(marks, axis.points, correction.grid))))
    return size
