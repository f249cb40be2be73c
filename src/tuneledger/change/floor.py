"""Where a sheet's lowest limit can hold the advance up, and what it can cut there.

Looked at over the whole map and between its points, in every state that the conditions allow.
Where that cannot be worked out exactly, nothing is ruled out.
"""

from functools import cached_property

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.audit.reach.reach import Reach, reach_of
from tuneledger.audit.refined import at_every_break
from tuneledger.calibrations.model import Calibration, Correction

_LEAST_DEG = 0.05  # what is less is written as nothing


class Floor:
    """The lowest limit of a sheet, against all that its map and corrections can come to."""

    def __init__(self, sheet: Calibration) -> None:
        self._sheet = sheet

    @property
    def can_hold(self) -> bool:
        """Whether the limit can ever hold; True where nobody can tell."""
        return self._reach is None or bool(self._held.any())

    def may_cut(self, correction: Correction) -> bool:
        """Whether a correction can act where the limit holds; True where nobody can tell."""
        if self._reach is None:
            return True
        term = self._reach.by_id.get(correction.id)
        return term is None or bool((self._reach.acts(term) & self._held).any())

    @cached_property
    def _reach(self) -> Reach | None:
        """The reach without the limit; None where it is not known to be all that there is."""
        spark = self._sheet.spark
        if not spark.complete or spark.limits is None or spark.limits.lowest is None:
            return None
        free = spark.limits.model_copy(update={"lowest": None})
        bare = self._sheet.model_copy(update={"spark": spark.model_copy(update={"limits": free})})
        written = at_every_break(bare)
        reach = None if written is None else reach_of(written)
        return reach if reach is not None and reach.exact else None

    @cached_property
    def _held(self) -> BoolArray:
        """The places at which the sum can be below the limit, or the map is not known."""
        assert self._reach is not None
        limits = self._sheet.spark.limits
        assert limits is not None
        assert limits.lowest is not None
        low = self._reach.lowest.degrees
        return np.asarray(np.isnan(low) | (low < limits.lowest - _LEAST_DEG))
