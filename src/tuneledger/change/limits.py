"""Limits of the advance that an edit raises: more may be delivered, or less may be taken away."""

import numpy as np

from tuneledger.calibrations.model import Calibration, Correction
from tuneledger.change.eased import may_take
from tuneledger.change.floor import Floor
from tuneledger.explain.nextstep import PROTECTING
from tuneledger.record import record
from tuneledger.wording import degrees


@record
class Lifted:
    """What an edit does to the limits.

    says:   in words, one part each; empty where no limit is raised
    lowest: by how much the lowest is raised, degrees: 0 where it is not, NaN where there was none
    """

    says: tuple[str, ...]
    lowest: float

    @property
    def cancels(self) -> bool:
        """Whether no correction may take the advance as low as before."""
        return self.lowest != 0.0

    @property
    def most(self) -> float:
        """Degrees by which it is known that the lowest rises; without end where nobody knows."""
        return np.inf if np.isnan(self.lowest) else self.lowest


def lifted(old: Calibration, new: Calibration) -> Lifted:
    """Which limits the edited sheet raises, takes away from above, or adds from below.

    A lowest limit that nothing in the sheet can get down to is no raise.
    """
    lowest, said = _lowest(old, new)
    if said is not None and not Floor(new).can_hold:
        lowest, said = 0.0, None
    says = [text for text in (_highest(old, new), said) if text]
    return Lifted(tuple(says), lowest)


def cancelled(sheet: Calibration) -> list[Correction]:
    """What protects the engine and may take advance, of which a raised lowest limit leaves less.

    sheet: with the limit; what can never act where the limit holds the sum keeps all that it takes
    """
    floor = Floor(sheet)
    return [
        one
        for one in sheet.spark.correction
        if one.reason in PROTECTING and one.enabled and may_take(one) and floor.may_cut(one)
    ]


def _highest(old: Calibration, new: Calibration) -> str | None:
    before, after = (s.spark.limits.highest if s.spark.limits else None for s in (old, new))
    if before is None or (after is not None and after <= before):
        return None
    if after is None:
        return f"takes the highest advance allowed ({degrees(before, signed=False)}) away"
    more, to = degrees(after - before, signed=False), degrees(after, signed=False)
    return f"lifts the highest advance allowed by {more} to {to}"


def _lowest(old: Calibration, new: Calibration) -> tuple[float, str | None]:
    before, after = (s.spark.limits.lowest if s.spark.limits else None for s in (old, new))
    if after is None or (before is not None and after <= before):
        return 0.0, None
    below = f"to {degrees(after)}, below which no correction can take it, whatever it protects from"
    if before is None:
        return np.nan, f"sets a lowest advance allowed, {below.removeprefix('to ')}"
    more = degrees(after - before, signed=False)
    return after - before, f"raises the lowest advance allowed by {more} {below}"
