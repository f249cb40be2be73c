"""A condition that can never hold

**What it finds.** A condition whose threshold lies outside what its signal can be (`tuneledger
signals` lists that), or that waits for a correction which is switched off or can never act.

**Why it matters.** The correction looks switched on and never works. A guard of that kind is a
guard on paper.

**Example.** `{ signal = "engine coolant temperature", unit = "degC", above = 212 }`: no coolant
gets there; meant was 212 °F, 100 °C.

**What to do.** Correct the threshold or its unit.

**When to ignore it.** Where a threshold was put out of reach to switch something off; better, say
`enabled = false`.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.conditions import every_condition
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, in_words, on_axis, reading_name
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Comparison, CorrectionActive
from tuneledger.signals import SIGNALS
from tuneledger.units import convert
from tuneledger.wording import listing


def check(sheet: Audited) -> Iterator[Said]:
    """Conditions of enabled corrections that nothing makes true."""
    for correction, path, condition in every_condition(sheet):
        if isinstance(condition, CorrectionActive):
            other = sheet.calibration.spark.find(condition.correction)
            if other is not None and not other.enabled:
                why = f"{called(other)} is switched off"
            elif not sheet.possible.can_act(condition.correction):
                why = f"{condition.correction} can never act"
            else:
                continue
        elif isinstance(condition, Comparison) and not sheet.possible.ever(condition)[0]:
            why = _why(condition)
        else:
            continue
        yield Said(
            "fault",
            (path,),
            f"{called(correction)} waits for '{in_words(condition)}', which can never be: {why}.",
            "Correct the threshold or its unit; to switch it off, say enabled = false.",
        )


def _why(c: Comparison) -> str:
    if c.signal is None or c.minus or c.over or c.rate:
        return "it lies outside what that can be"
    signal = SIGNALS[c.signal]
    ends = convert(np.array([signal.lowest, signal.highest]), signal.unit, c.unit or signal.unit)
    span = listing([on_axis(float(end), c) for end in ends], "to")
    return f"{reading_name(c)} is {span}"
