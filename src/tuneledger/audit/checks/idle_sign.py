"""An idle governor with the wrong sign

**What it finds.** A correction over idle speed target minus engine speed (or the other way round)
that takes advance where the engine runs too slowly, or adds where it runs too fast.

**Why it matters.** The governor is to push a slow engine and to hold a fast one: more advance
gives more torque at idle, since idle advance lies well behind the best (common practice, no
source). With the sign turned round it drives the speed away from its target: the engine hunts or
stalls, and advance builds up when it should fall.

**Example.** Target minus speed at `[-200, 0, 200]` rpm with `values = [5.0, 0.0, -5.0]`: an engine
200 rpm too fast is given 5° more.

**What to do.** Turn the values round, or read speed minus target instead.

**When to ignore it.** Never, unless the unit of the difference is wrong as well.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.idle import governors
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called
from tuneledger.audit.sheet import Audited
from tuneledger.wording import degrees, number

LEAST_DEG = 0.25


def check(sheet: Audited) -> Iterator[Said]:
    """Governors whose advance falls where the engine runs slower."""
    for governor in governors(sheet):
        rise = np.diff(governor.values)
        if not rise.size or float(rise.min()) >= -LEAST_DEG:
            continue
        at = int(rise.argmin())
        slow, fast = governor.slow[at + 1], governor.slow[at]
        throughout = governor.values[-1] < governor.values[0] - LEAST_DEG
        how = "works the wrong way round" if throughout else "turns back on the way"
        yield Said(
            "danger" if throughout else "fault",
            (governor.path,),
            f"{called(governor.correction)} {how}: from {number(fast)} to {number(slow)} rpm below "
            f"the target its advance falls by {degrees(-rise.min(), signed=False)}.",
            "Turn the values round, so that a slow engine is given more.",
            float(-rise.min()),
        )
