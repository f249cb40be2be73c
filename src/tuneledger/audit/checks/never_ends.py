"""An `until` that never ends anything

**What it finds.** A correction whose `until` can only be true where its `when` holds as well, be it
that this takes an engine that turns (above 500 rpm).

**Why it matters.** `until` only ever prolongs: where both hold, the correction is active. So it
acts for as long as the engine runs, and an advance for the first minute, or a cap until all is well
again, is there for good.

**Example.** `when` engine speed is above 400 rpm, `until` coolant is above 70 °C: with warm coolant
the engine still turns.

**What to do.** Let `when` say what starts it and passes, as coolant below 40 °C; or put what ends
it into `when`, the other way round, and leave out `until`.

**When to ignore it.** Where the correction is meant to act all the time; then `until` says nothing.
"""

from collections.abc import Iterator

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, in_words
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Comparison

# A starter turns an engine more slowly, an idle is faster: common practice, no source.
_TURNS = Comparison(signal="engine speed", unit="rpm", above=500.0)


def check(sheet: Audited) -> Iterator[Said]:
    """Enabled corrections whose `until` finds `when` true."""
    for path, correction in sheet.enabled:
        until = correction.until
        if until is None or until == "power off" or not sheet.possible.can_act(correction.id):
            continue
        given = [until, _TURNS]
        if sheet.possible.together(given) and all(
            sheet.possible.follows(given, one) for one in correction.when
        ):
            yield Said(
                "fault",
                (f"{path}.until",),
                f"{called(correction)} never ends while the engine runs: its when still holds at "
                f"'{in_words(until)}', and until only ever prolongs.",
                "Let when say what starts it and passes, or put what ends it into when, the other "
                "way round, and leave out until.",
            )
