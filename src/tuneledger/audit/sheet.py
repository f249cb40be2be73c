"""A sheet under audit, with what several checks need of it worked out once."""

from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.audit.reach.ever import Possible
from tuneledger.audit.reach.factors import CELL_AXES, spread, union
from tuneledger.audit.reach.reach import Reach, reach_of
from tuneledger.audit.reach.terms import Term
from tuneledger.audit.refined import at_points
from tuneledger.calibrations.model import Calibration, Correction
from tuneledger.record import record

if TYPE_CHECKING:
    from tuneledger.logs.model import Log
    from tuneledger.roles.model import Roles


@record(eq=False)
class Moves:
    """What one correction does to the map's own value in each cell, at the least and at the most:
    what it adds, or what stands in the map's place less the map. 0 where it cannot act."""

    low: FloatArray
    high: FloatArray

    @property
    def size(self) -> float:
        return float(np.nanmax([np.abs(self.low), np.abs(self.high)], initial=0.0))


@record(eq=False)
class Audited:
    """One sheet: its file's name, what it holds, the revision before it, a log of the car.

    called: its revision's name, with the file where another sheet bears the same one
    """

    file: str
    calibration: Calibration
    called: str
    earlier: "Audited | None" = None
    log: "tuple[Log, Roles] | None" = None

    @cached_property
    def possible(self) -> Possible:
        return Possible(self.calibration)

    @cached_property
    def reach(self) -> Reach:
        return reach_of(self.calibration, self.possible)

    @cached_property
    def reach_before(self) -> Reach | None:
        """The reach of the revision before at the points of this map; None where there is none, or
        its map reads something else."""
        if self.earlier is None:
            return None
        before = self.earlier.calibration
        if before.spark.map.axes == self.calibration.spark.map.axes:
            return self.earlier.reach
        there = at_points(before, self.calibration.spark.map.axes)
        return None if there is None else reach_of(there)

    @property
    def knows_a_cell(self) -> bool:
        return bool(np.isfinite(self.calibration.spark.map.grid).any())

    @property
    def corrections(self) -> Iterator[tuple[str, Correction]]:
        """(path, correction), switched on or not."""
        for index, correction in enumerate(self.calibration.spark.correction):
            yield f"spark.correction[{index}]", correction

    @property
    def enabled(self) -> Iterator[tuple[str, Correction]]:
        return ((path, c) for path, c in self.corrections if c.enabled)

    def moves(self, correction: Correction) -> Moves:
        """What an enabled correction does to the map, by itself."""
        return self._moves[correction.id]

    @cached_property
    def _moves(self) -> dict[str, Moves]:
        return {term.correction.id: self._moved(term) for term in self.reach.terms}

    def _moved(self, term: Term) -> Moves:
        grid = self.calibration.spark.map.grid
        padded = np.nan_to_num(grid).reshape(grid.shape + (1,) * (CELL_AXES - grid.ndim))
        over = union([term.acts, term.value, term.weight])
        value, start = spread(term.value, over), padded.reshape(padded.shape + (1,) * len(over))
        effect = term.correction.effect
        if effect == "base":
            value = spread(term.weight, over) * (value - start)
        elif effect != "add":
            value = value - start
            if effect == "at most":
                value = np.minimum(value, 0.0)
            elif effect == "at least":
                value = np.maximum(value, 0.0)
        acts = np.broadcast_to(
            spread(term.acts, over), np.broadcast_shapes(value.shape, spread(term.acts, over).shape)
        )
        axes = tuple(range(CELL_AXES, CELL_AXES + len(over)))
        low = np.where(acts, value, np.inf).min(axis=axes)
        high = np.where(acts, value, -np.inf).max(axis=axes)
        can = np.isfinite(low)
        return Moves(
            self.reach.in_shape(np.where(can, low, 0.0)),
            self.reach.in_shape(np.where(can, high, 0.0)),
        )
