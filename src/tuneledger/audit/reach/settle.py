"""The effects in their order, and the best and the worst choice in every cell.

Delivered rises, or stays, with everything that goes into it: with the sum of map, bases and adds,
with the value of every cap and floor, with what a replacement gives. So what nobody else knows can
be chosen for each of them by itself; only what two of them share has to be tried together.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.audit.reach.best import Best, Cap, Crossing, Replacement
from tuneledger.audit.reach.factors import (
    CELL_AXES,
    MOST_BOXES,
    Assignment,
    Factor,
    Taken,
    Values,
    at,
    boxes,
    constant,
    joined,
    spread,
    take_out,
    trace,
    union,
)
from tuneledger.audit.reach.space import Space
from tuneledger.audit.reach.terms import Term
from tuneledger.calibrations.model import Limits
from tuneledger.record import record

CAPS = ("at most", "at least")


@record(eq=False)
class Extreme:
    """The highest, or the lowest, in every cell.

    degrees: as delivered; before: the same before the limits
    by:      correction id → where it has a share in it; also `limit`
    exact:   where it is reached, and not only never passed
    """

    degrees: FloatArray
    before: FloatArray
    by: dict[str, BoolArray]
    exact: bool


class Account:
    """One sheet's terms over a space, brought together.

    scheduled: the map's value in each cell
    """

    def __init__(
        self, scheduled: FloatArray, terms: Sequence[Term], space: Space, limits: Limits | None
    ) -> None:
        self._start = scheduled
        self._links = tuple(space.links)
        self._space, self._limits = space, limits
        self._adds = [t for t in terms if t.correction.effect == "add"]
        self._bases = [t for t in terms if t.correction.effect == "base"]
        self._caps = [t for t in terms if t.correction.effect in CAPS]
        self._replacements = [t for t in terms if t.correction.effect == "replace"]
        self._shape = np.broadcast_shapes(
            scheduled.shape, *(f.values.shape[:CELL_AXES] for t in terms for f in (t.acts, t.value))
        )
        self._exact = not (space.loose or any(t.curved or not t.known for t in terms))
        self._base, base_exact = self._blended()
        self._exact &= base_exact

    @property
    def sizes(self) -> dict[int, int]:
        return self._space.sizes

    def extreme(self, *, upwards: bool) -> Extreme:
        """The highest (`upwards`) or lowest that can be delivered in each cell."""
        blocked = -np.inf if upwards else np.inf
        held = [Factor(f.over, np.where(f.values, 0.0, blocked)) for f in self._links]
        summed = [self._base, *(t.entry for t in self._adds), *held]
        keep, exact = self._shared(summed)
        outcome = take_out(summed, self.sizes, keep=keep, upwards=upwards)
        exact &= outcome.exact
        caps = [self._cap(t, keep, upwards) for t in self._caps]
        replacements = [self._replacement(t, keep, upwards) for t in self._replacements]
        over = tuple(sorted(keep))
        stands = spread(joined(outcome.left, np.add), over)
        crossing, caps = self._crossing(caps, over, upwards)
        exact &= len(caps) == len(self._caps)
        best = Best(stands, caps, replacements, over, upwards)
        best.weigh(crossing)
        before, chosen, rules = best.choose(self._shape)
        if self._links and not np.isfinite(before).all():
            # what holds two readings together left nothing over: a bound without it
            self._links, self._exact = (), False
            return self.extreme(upwards=upwards)
        return self._told(before, chosen, rules, outcome.taken, caps, exact and self._exact)

    # ---- the sum

    def _blended(self) -> tuple[Factor, bool]:
        """The map with its bases blended in, the later ones over the earlier; and whether it runs
        straight between choices: a share times a value over the same quantity does not."""
        stand = constant(self._start)
        for term in self._bases:
            over = union([stand, term.acts, term.value, term.weight])
            if boxes(over, self.sizes) > MOST_BOXES:
                return self._hull(), False
            share = np.where(spread(term.acts, over), spread(term.weight, over), 0.0)
            value, before = spread(term.value, over), spread(stand, over)
            stand = Factor(over, before + share * (value - before))
        tables = [name for t in self._bases for f in (t.value, t.weight) for name in f.over]
        exact = len(tables) == len(set(tables))
        return (stand, True) if exact else (self._hull(), False)

    def _hull(self) -> Factor:
        """The map and every base's least and greatest as one choice: what a blend cannot leave."""
        ends = [self._start]
        for term in self._bases:
            axes = tuple(range(CELL_AXES, term.value.values.ndim))
            ends += [term.value.values.min(axis=axes), term.value.values.max(axis=axes)]
        stacked = np.stack(np.broadcast_arrays(*ends), axis=-1)
        return Factor((self._space.choice(stacked.shape[-1]),), stacked)

    def _shared(self, summed: Sequence[Factor]) -> tuple[frozenset[int], bool]:
        """What the sum, a cap or a replacement knows together with another, and has to be tried
        together; and whether all of it could be, within the largest table."""
        groups = [set(union(summed))]
        groups += [set(union([t.acts, t.value])) for t in (*self._caps, *self._replacements)]
        counted: dict[int, int] = {}
        for group in groups:
            for name in group:
                counted[name] = counted.get(name, 0) + 1
        keep = {name for name, count in counted.items() if count > 1}
        bent = {name for t in self._caps for name in t.tables} & keep
        blend = frozenset(name for t in self._bases for name in t.tables)
        for tables in (blend, *(t.tables for t in (*self._adds, *self._caps))):
            keep |= tables if bent & tables else frozenset()  # what moves together with a cap
        exact = True
        while keep and boxes(keep, self.sizes) > MOST_BOXES:
            exact = False
            keep.discard(max(keep, key=lambda name: self.sizes[name]))
        return frozenset(keep), exact

    # ---- caps and replacements, what only they know chosen for each

    def _cap(self, term: Term, keep: frozenset[int], upwards: bool) -> Cap:
        idle = np.inf if term.correction.effect == "at most" else -np.inf
        over = union([term.acts, term.value])
        level = Factor(over, np.where(spread(term.acts, over), spread(term.value, over), idle))
        outcome = take_out([level], self.sizes, keep=keep, upwards=upwards)
        return Cap(term, joined(outcome.left, np.add), outcome.taken)

    def _replacement(self, term: Term, keep: frozenset[int], upwards: bool) -> Replacement:
        absent = -np.inf if upwards else np.inf
        over = union([term.acts, term.value])
        level = Factor(over, np.where(spread(term.acts, over), spread(term.value, over), absent))
        outcome = take_out([level], self.sizes, keep=keep, upwards=upwards)
        free = tuple(CELL_AXES + i for i, name in enumerate(term.acts.over) if name not in keep)
        silent = Factor(
            tuple(n for n in term.acts.over if n in keep),
            np.asarray((~term.acts.values).any(axis=free)),
        )
        return Replacement(term, joined(outcome.left, np.add), silent)

    def _crossing(
        self, caps: list[Cap], over: tuple[int, ...], upwards: bool
    ) -> tuple[Crossing | None, list[Cap]]:
        """The axis along which a cap and the sum both move, where there is just one: the highest
        may then be where they cross, between two choices.

        Where that cannot be found, the caps that would make it so are left out, which is a bound:
        a cap under the highest, a floor under the lowest.
        """
        moved = {name for t in (*self._adds, *self._bases) for name in t.tables}
        counts = [name for cap in caps for name in cap.term.tables]
        bent = {name for name in counts if name in moved or counts.count(name) > 1}
        if not bent:
            return None, caps
        name = next(iter(bent))
        values = self._space.values_of(name) if len(bent) == 1 and name in over else None
        if values is not None and not self._space.is_bent(name):
            return Crossing(over.index(name), values), caps
        bends = "at most" if upwards else "at least"
        kept = [c for c in caps if c.term.correction.effect != bends or not c.term.tables & bent]
        return None, kept

    # ---- what is told

    def _told(
        self,
        before: FloatArray,
        chosen: Assignment,
        rules: Values,
        taken: Sequence[Taken],
        caps: Sequence[Cap],
        exact: bool,
    ) -> Extreme:
        found = trace(taken, chosen, self._shape)
        ruled = rules >= 0
        by: dict[str, BoolArray] = {}
        stands = np.broadcast_to(self._start, self._shape)
        for term, entry in self._posted(found, stands):
            by[term.correction.id] = (np.abs(entry) > _LEAST) & ~ruled
            stands = stands + entry
        for cap in caps:
            level = at(cap.level, found, self._shape)
            meets = np.minimum if cap.term.correction.effect == "at most" else np.maximum
            by[cap.term.correction.id] = (np.abs(meets(stands, level) - stands) > _LEAST) & ~ruled
            stands = meets(stands, level)
        for index, term in enumerate(self._replacements):
            by[term.correction.id] = rules == index
        degrees = before
        if self._limits is not None:
            low, high = self._limits.lowest, self._limits.highest
            degrees = before if high is None else np.minimum(before, high)
            degrees = degrees if low is None else np.maximum(degrees, low)
            by["limit"] = np.abs(degrees - before) > _LEAST
        return Extreme(degrees, before, by, exact)

    def _posted(self, found: Assignment, start: FloatArray) -> Sequence[tuple[Term, FloatArray]]:
        out = []
        stand = start
        shares = []
        for term in self._bases:
            if any(n not in found for f in (term.acts, term.value, term.weight) for n in f.over):
                continue  # the bases were bounded, not carried out
            acts, value = at(term.acts, found, self._shape), at(term.value, found, self._shape)
            share = np.where(acts, at(term.weight, found, self._shape), 0.0)
            shares.append((term, share, value))
        left = np.ones(self._shape)
        for term, share, value in reversed(shares):
            out.append((term, left * share * (value - stand)))
            left = left * (1.0 - share)
        out += [(term, at(term.entry, found, self._shape)) for term in self._adds]
        return out


_LEAST = 1e-9  # degrees; what is less is nothing
