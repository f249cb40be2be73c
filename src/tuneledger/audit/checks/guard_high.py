"""A pressure guard that acts when the pressure is high

**What it finds.** A correction that takes advance (its reason is `sensor guard` or `other`) while
oil or fuel pressure is above a threshold that a healthy engine passes all day: below 700 kPa of
oil, below 600 kPa of fuel (common practice, no source), and that nothing else makes act when it is
low.

**Why it matters.** Such a guard is there for the day when pressure falls. Turned round it retards a
healthy engine, and does nothing when the bearings run dry or the mixture goes lean.

**Example.** `{ signal = "oil pressure", unit = "kPa", above = 160 }`: meant was `below = 160`.

**What to do.** Turn `above` into `below`, or say what the high pressure is a sign of.

**When to ignore it.** Where it answers a relief valve that sticks; better, raise the threshold
above what a healthy engine has when cold.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.conditions import comparisons
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, in_words, unit_of
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Comparison
from tuneledger.units import convert

REASONS = ("sensor guard", "other")
HIGH_KPA = {"oil pressure": 700.0, "fuel pressure": 600.0}
LEAST_DEG = 0.05


def check(sheet: Audited) -> Iterator[Said]:
    """Guards by a pressure that take advance while it is as it should be."""
    for path, correction in sheet.enabled:
        on = [c for c in comparisons(correction) if _by_pressure(c)]
        high = [c for c in on if _healthy(c)]
        if correction.reason not in REASONS or not high or any(c.above is None for c in on):
            continue
        takes = -float(np.min(sheet.moves(correction).low))
        if takes > LEAST_DEG:
            yield Said(
                "danger",
                (path,),
                f"{called(correction)} acts while '{in_words(high[0])}', which a healthy engine "
                f"has all day, and not when {high[0].signal} is low.",
                "Look up whether below was meant; do not load this before it is settled.",
                takes,
            )


def _by_pressure(c: Comparison) -> bool:
    return c.signal in HIGH_KPA and not (c.minus or c.over or c.rate)


def _healthy(c: Comparison) -> bool:
    """Whether it is true of a pressure that is as it should be."""
    if c.above is None or c.signal is None:
        return False
    threshold = convert(np.array([float(c.above)]), unit_of(c), "kPa")
    return bool(threshold[0] < HIGH_KPA[c.signal])
