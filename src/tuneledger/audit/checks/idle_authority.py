"""An idle governor without authority

**What it finds.** An idle governor that is switched on and cannot move the advance by half a
degree in one direction, or in either.

**Why it matters.** It looks like a governor in every list and does not govern. Idle then hangs on
the air alone, and a log shows idle speed wander that nobody can account for.

**Example.** `values = [0.0, 0.0, 0.0, 3.0, 5.0]`: it can push a slow engine, but never hold a fast
one.

**What to do.** Give it values on both sides of the target, or switch it off.

**When to ignore it.** Where the governor is meant to work on one side only and air does the rest.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.idle import governors
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called
from tuneledger.audit.sheet import Audited

LEAST_DEG = 0.5


def check(sheet: Audited) -> Iterator[Said]:
    """Governors that cannot add, or cannot take."""
    for governor in governors(sheet):
        lowest, highest = float(np.nanmin(governor.values)), float(np.nanmax(governor.values))
        adds, takes = highest >= LEAST_DEG, lowest <= -LEAST_DEG
        if adds and takes:
            continue
        lacks = (
            "neither add nor take" if not (adds or takes) else "only take" if takes else "only add"
        )
        yield Said(
            "doubt",
            (governor.path,),
            f"{called(governor.correction)} can {lacks} advance: it has no authority there.",
            "Give it values on both sides of the target, or switch it off.",
        )
