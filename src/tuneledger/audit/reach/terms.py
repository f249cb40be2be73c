"""Corrections over the choices of a space: where each acts, and with what value."""

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np

from tuneledger.audit.reach.factors import (
    CELL_AXES,
    MOST_BOXES,
    Factor,
    Values,
    boxes,
    constant,
    spread,
    union,
)
from tuneledger.audit.reach.quantities import Quantities
from tuneledger.audit.reach.space import Space
from tuneledger.audit.reach.truths import Conditions, Ever, any_of, not_
from tuneledger.audit.reach.ways import Seen
from tuneledger.calibrations.model import Calibration, Condition, Correction, Part, Table
from tuneledger.evaluate.lookup import interpolate
from tuneledger.record import record


@record(eq=False)
class Term:
    """One correction at work.

    acts:   where it is active
    value:  its table's value in degrees, and weight the share of a base; they count where it acts
    tables: variables along which its value may run
    curved: variables along which its value is not known to run straight between two choices
    known:  False where a part of it is not known ("?", or nothing in the sheet says how much)
    """

    correction: Correction
    index: int
    acts: Factor
    value: Factor
    weight: Factor
    tables: frozenset[int]
    curved: frozenset[int] = frozenset()
    known: bool = True

    @cached_property
    def entry(self) -> Factor:
        """What an `add` posts: its value where it acts, else 0."""
        over = union([self.acts, self.value])
        return Factor(over, np.where(spread(self.acts, over), spread(self.value, over), 0.0))


class Corrections:
    """The corrections of a sheet over one space; `terms` once the space is settled."""

    def __init__(
        self, calibration: Calibration, space: Space, quantities: Quantities, ever: Ever
    ) -> None:
        self._sheet, self._space = calibration, space
        self.conditions = Conditions(space, quantities, ever)
        self._ever = ever
        self._may_latch: dict[str, bool] = {}

    def meet(self, corrections: Sequence[Correction]) -> None:
        """Meet all that some corrections read, before the space is settled."""
        for correction in corrections:
            for condition in (*correction.when, *_until(correction)):
                self.conditions.meet(condition)
            for table in (correction, correction.weight):
                for axis in table.axes if table is not None else ():
                    self.conditions.meet_reading(axis, [(at, "at") for at in axis.at])

    def term(self, index: int, correction: Correction, *, can_latch: bool) -> Term:
        """A correction as if it were enabled; those before it are known to the conditions.

        can_latch: whether its `when` can ever be true, which its latch needs
        """
        combine = self.conditions
        acts = combine.all_of([combine.truth(c) for c in correction.when])
        if correction.until is not None and can_latch:
            closed = Factor((self._space.choice(2),), np.array([False, True]).reshape(1, 1, 1, 2))
            over = [not_(self.conditions.truth(c)) for c in _until(correction)]
            acts = combine.any_of([acts, combine.all_of([closed, *over])])
        if not correction.has_numbers:
            return self._worked_out_by_itself(index, correction, acts)
        value = Looked(correction, self)
        weight = Looked(correction.weight, self) if correction.weight is not None else None
        parts = [value, *([weight] if weight else [])]
        acts = combine.all_of(
            [acts, *(not_(part.never) for part in parts if part.never.values.any())]
        )
        shown = [acts, value.values, *([weight.values] if weight else [])]
        if boxes(union(shown), self._space.sizes) > MOST_BOXES:
            value.bound(correction, self._space)
            if weight is not None and correction.weight is not None:
                weight.bound(correction.weight, self._space)
        return Term(
            correction,
            index,
            acts,
            value.values,
            weight.values if weight else constant(1.0),
            frozenset().union(*(part.tables for part in parts)),
            frozenset().union(*(part.curved for part in parts)),
            all(part.known for part in parts),
        )

    def _worked_out_by_itself(self, index: int, correction: Correction, acts: Factor) -> Term:
        """What the ECU works out itself: any of its range, or nobody knows how much."""
        works = Factor((self._space.choice(2),), np.array([False, True]).reshape(1, 1, 1, 2))
        low, high = correction.range or (0.0, 0.0)
        ends = np.array([low, high]).reshape(1, 1, 1, 2)
        value = Factor((self._space.choice(2),), ends)
        known = correction.range is not None
        acts = self.conditions.all_of([acts, works])
        return Term(correction, index, acts, value, constant(1.0), frozenset(), known=known)

    def see(self, axis_form: Part) -> Seen:
        return self._space.see(self.conditions.form(axis_form))  # type: ignore[arg-type]

    @property
    def space(self) -> Space:
        return self._space


def _until(correction: Correction) -> Iterator[Condition]:
    if correction.until is not None and correction.until != "power off":
        yield correction.until


class Looked:
    """A table looked up for every choice of what its axes read."""

    def __init__(self, table: Table, home: Corrections) -> None:
        seen = [home.see(axis) for axis in table.axes]
        self.never = any_of([one.never for one in seen if one.over])
        over = union([Factor(one.over, one.values) for one in seen])
        self.tables = frozenset(over)
        twice = [n for n in over if sum(n in one.over for one in seen) > 1]
        linked = [set(link.over) for link in home.space.links]
        self.curved = frozenset(twice) | frozenset(
            n for n in over for pair in linked if n in pair and pair <= set(over)
        )
        self.known = not np.isnan(table.grid).any()
        sizes = home.space.sizes
        if self.curved or boxes(over, sizes) > MOST_BOXES:
            self.bound(table, home.space)
            return
        columns = [spread(Factor(one.over, one.values), over) for one in seen]
        found = _interpolated(table, columns)
        if not self.known:  # what nobody knows is left out: the correction does not act there
            self.never = any_of([self.never, Factor(over, np.isnan(found))])
            found = np.nan_to_num(found)
        self.values = Factor(over, found)

    def bound(self, table: Table, space: Space) -> None:
        """Any value between its least and its greatest, whatever its axes read."""
        self.values = _ends(table, space)
        self.curved = self.curved or self.tables or frozenset([-1])
        self.tables = frozenset()


def _interpolated(table: Table, columns: Sequence[Values]) -> Values:
    """The table's values; what nobody knows ("?") has no part in them."""
    if not columns:
        return table.grid.reshape((1,) * CELL_AXES)
    shape = np.broadcast_shapes(*(column.shape for column in columns))
    flat = [np.broadcast_to(column, shape).ravel() for column in columns]
    never = np.isnan(flat).any(axis=0)
    found = interpolate([axis.points for axis in table.axes], table.grid, flat)
    found = np.where(never, 0.0, found)  # it does not act there
    return found.reshape(shape)


def _ends(table: Table, space: Space) -> Factor:
    """The least and the greatest of a table as a choice of its own: a bound."""
    known = table.grid[~np.isnan(table.grid)]
    ends = np.array([known.min(), known.max()] if known.size else [0.0, 0.0])
    return Factor((space.choice(2),), ends.reshape(1, 1, 1, 2))
