"""A sheet's reach: the lowest and highest advance in every cell of its map, and what gets there."""

from collections.abc import Mapping
from functools import cached_property

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.audit.reach.ever import Possible
from tuneledger.audit.reach.factors import CELL_AXES, Values
from tuneledger.audit.reach.quantities import Key, Quantities
from tuneledger.audit.reach.settle import Account, Extreme
from tuneledger.audit.reach.space import Space
from tuneledger.audit.reach.terms import Corrections, Term
from tuneledger.audit.reach.truths import cells_of
from tuneledger.calibrations.model import Calibration
from tuneledger.record import record


@record(eq=False)
class Reach:
    """What can be delivered in each cell of a map, the map's inputs exactly at its point.

    scheduled: the map, NaN where a cell is not known; lowest, highest: NaN there too. All in the
    shape of the map's axes, shape () for a map that is one number
    terms:     every enabled correction over all that can be chosen
    """

    calibration: Calibration
    scheduled: FloatArray
    lowest: Extreme
    highest: Extreme
    terms: tuple[Term, ...]

    @property
    def exact(self) -> bool:
        return self.lowest.exact and self.highest.exact

    def own(self, term: Term) -> tuple[FloatArray, FloatArray]:
        """The lowest and highest that an `add` posts in each cell, 0 where it cannot act."""
        entry = term.entry.values
        axes = tuple(range(CELL_AXES, entry.ndim))
        return self.in_shape(entry.min(axis=axes)), self.in_shape(entry.max(axis=axes))

    def acts(self, term: Term) -> BoolArray:
        """The cells in which a correction can act."""
        found: BoolArray = self.in_shape(cells_of(term.acts).values)
        return found

    def in_shape(self, values: Values) -> Values:
        """Cell axes as the map has them."""
        shape = self.scheduled.shape
        padded = shape + (1,) * (CELL_AXES - len(shape))
        return np.broadcast_to(values, padded).reshape(shape)

    @cached_property
    def by_id(self) -> Mapping[str, Term]:
        return {term.correction.id: term for term in self.terms}


def reach_of(calibration: Calibration, possible: Possible | None = None) -> Reach:
    """The reach of a sheet's enabled corrections; see docs/reach.md for what counts as reachable.

    possible: what can be wherever the engine runs, where it is known already
    """
    possible = possible or Possible(calibration)
    spark = calibration.spark
    quantities = Quantities()
    space = Space(quantities, _fixed(calibration, quantities))
    home = Corrections(calibration, space, quantities, possible.ever)
    enabled = [(i, c) for i, c in enumerate(spark.correction) if c.enabled]
    home.meet([c for _, c in enabled])
    space.settle()
    terms = []
    for index, correction in enabled:
        term = home.term(index, correction, can_latch=possible.can_act(correction.id))
        home.conditions.active[correction.id] = term.acts
        terms.append(term)
    grid = spark.map.grid
    shape = grid.shape + (1,) * (CELL_AXES - grid.ndim)
    known = np.where(np.isnan(grid), 0.0, grid).reshape(shape)
    account = Account(known, terms, space, spark.limits)
    ends = [_shaped(account.extreme(upwards=up), grid) for up in (False, True)]
    if quantities.vague:
        ends = [Extreme(e.degrees, e.before, e.by, False) for e in ends]
    return Reach(calibration, grid, ends[0], ends[1], tuple(terms))


def _fixed(calibration: Calibration, quantities: Quantities) -> dict[Key, FloatArray]:
    """What the map reads stands at its points: along one cell axis each."""
    fixed: dict[Key, FloatArray] = {}
    for axis, read in enumerate(calibration.spark.map.axes):
        if read.since is not None:
            continue
        form = quantities.form(read)
        points = read.points
        if form.is_plain:
            points = (points - form.main.offset) / form.main.scale
        shape = [1] * CELL_AXES
        shape[axis] = points.size
        fixed.setdefault(form.key, points.reshape(shape))
    return fixed


def _shaped(extreme: Extreme, grid: FloatArray) -> Extreme:
    """In the map's own shape, and not known where the map is not."""
    unknown = np.isnan(grid)

    def shaped(values: FloatArray) -> FloatArray:
        return np.where(unknown, np.nan, values.reshape(grid.shape))

    by = {name: rows.reshape(grid.shape) & ~unknown for name, rows in extreme.by.items()}
    return Extreme(shaped(extreme.degrees), shaped(extreme.before), by, extreme.exact)
