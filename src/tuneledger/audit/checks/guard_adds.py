"""A guard that adds advance

**What it finds.** A correction that protects (its reason is `sensor guard`, `knock`, `boost`,
`nitrous` or `traction`) and can leave the engine with more advance than the map asks for: an
amount or a table that is positive where it can act, a fixed advance above the map, a floor. Where
it can act is worked out exactly; a positive value that its conditions never let through is not
told.

**Why it matters.** A guard acts when something is already wrong: low oil pressure, knock, too much
boost. More advance raises the pressure in the cylinder just then, and can break the engine in
seconds. That retard protects against knock is common knowledge (J. B. Heywood, *Internal
Combustion Engine Fundamentals*, 1988, chapter 9); the usual cause here is a sign that was typed
wrongly.

**Example.** `id = "oil-guard"`, `reason = "sensor guard"`, `amount = 8.0`: meant was -8.0. Or a
fixed 10.0 by `effect = "replace"` that takes over at full load, where the map asks for 6.0.

**What to do.** Look the number up where it came from. If it is a sign, correct it and load nothing
before. If a fixed advance is meant, bring it below the lowest cell in which it can act.

**When to ignore it.** Where the cells in which it adds are never run, such as a fixed advance for
limping home at a closed throttle; better, give it a condition that says so.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, region
from tuneledger.audit.sheet import Audited
from tuneledger.wording import degrees

GUARDS = ("sensor guard", "knock", "boost", "nitrous", "traction")
LEAST_DEG = 0.05


def check(sheet: Audited) -> Iterator[Said]:
    """Guards that can stand above the map somewhere."""
    for path, correction in sheet.enabled:
        if correction.reason not in GUARDS:
            continue
        adds = sheet.moves(correction).high
        if not (adds > LEAST_DEG).any():
            continue
        most = float(np.max(adds))
        where = region(sheet.calibration, adds > LEAST_DEG)
        yield Said(
            "danger",
            (path,),
            f"{called(correction)} is there to protect ({correction.reason}), yet it can add up to "
            f"{degrees(most)} {where}.",
            "Look up whether the sign is right; do not load this before it is settled.",
            most,
        )
