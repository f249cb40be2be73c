"""The parts of a drafted sheet, each with what is to be said of it."""

from tuneledger.calibrations.model import Correction, Limits
from tuneledger.explain.surface import Surface
from tuneledger.record import record


@record(eq=False)
class DraftedMap:
    """The main map; `source`: the channel or the reckoning that it was read out of."""

    surface: Surface
    source: str


@record
class DraftedCorrection:
    """One correction. `remark`: what it does, where it comes from, and how sure it is."""

    correction: Correction
    certainty: float
    remark: str


@record
class DraftedLimits:
    """Limits that the log has shown, how sure that is (0 to 1), and the remark that stands with
    them."""

    limits: Limits
    certainty: float
    remark: str
