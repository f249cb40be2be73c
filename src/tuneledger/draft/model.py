"""The parts of a drafted sheet, each with what is to be said of it."""

from dataclasses import dataclass

from tuneledger.calibrations.model import Correction, Limits
from tuneledger.explain.surface import Surface


@dataclass(frozen=True, eq=False)
class DraftedMap:
    """The main map; `source`: the channel or the reckoning that it was read out of."""

    surface: Surface
    source: str


@dataclass(frozen=True, slots=True)
class DraftedCorrection:
    """One correction. `remark`: what it does, where it comes from, and how sure it is."""

    correction: Correction
    certainty: float
    remark: str


@dataclass(frozen=True, slots=True)
class DraftedLimits:
    limits: Limits
    certainty: float
    remark: str
