"""What is possible at all, wherever the engine runs: the map's inputs are free here."""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.audit.reach.factors import Factor, take_out
from tuneledger.audit.reach.quantities import Quantities
from tuneledger.audit.reach.space import Space
from tuneledger.audit.reach.terms import Corrections
from tuneledger.audit.reach.truths import SWITCHED_ON, not_, said
from tuneledger.calibrations.model import (
    Calibration,
    Comparison,
    Condition,
    Correction,
    readings,
)
from tuneledger.calibrations.named import named_corrections


class Possible:
    """Which conditions of a sheet can ever be true, and which can ever be false."""

    def __init__(self, calibration: Calibration) -> None:
        self._calibration = calibration
        self._ever: dict[str, tuple[bool, bool]] = {}
        self._can_act: dict[str, bool] = {}

    def ever(self, condition: Condition) -> tuple[bool, bool]:
        """Whether a condition can be true, and whether it can be false."""
        key = said(condition)
        if key not in self._ever and isinstance(condition, Comparison) and not condition.since:
            self._ever[key] = self._within_its_span(condition)
        if key not in self._ever:
            self._ever[key] = (True, True)  # what a condition inside itself would ask
            self._ever[key] = self._asked(condition)
        return self._ever[key]

    def together(self, conditions: Sequence[Condition]) -> bool:
        """Whether some conditions can all be true at once."""
        parts = list(_entangled(conditions))
        alone = all(self.ever(part[0])[0] for part in parts if len(part) == 1)
        return alone and all(self._can_hold(part) for part in parts if len(part) > 1)

    def implies(self, one: Condition, other: Condition) -> bool:
        """Whether the other is true wherever the one is."""
        return self.follows([one], other)

    def follows(self, given: Sequence[Condition], other: Condition) -> bool:
        """Whether the other is true wherever all that is given is."""
        space, home = self._home([], [*given, other])
        *truths, last = (home.conditions.truth(condition) for condition in (*given, other))
        return not _can(space, [*truths, not_(last)])

    def can_act(self, correction_id: str) -> bool:
        """Whether a correction's own conditions can hold; it is taken as enabled."""
        if correction_id not in self._can_act:
            correction = self._calibration.spark.find(correction_id)
            self._can_act[correction_id] = True
            if correction is not None:
                self._can_act[correction_id] = self.together(correction.when)
        return self._can_act[correction_id]

    def both_act(self, one: Correction, other: Correction) -> bool:
        """Whether two corrections can be active at the same time."""
        if one.until is None and other.until is None:
            return self.together([*one.when, *other.when])
        space, home = self._home([one, other])
        terms = [home.term(0, c, can_latch=self.can_act(c.id)) for c in (one, other)]
        return _can(space, [term.acts for term in terms])

    def _within_its_span(self, c: Comparison) -> tuple[bool, bool]:
        """Of one comparison, by what its reading can be. A `held` can always be false."""
        quantities = Quantities()
        form = quantities.form(c)
        low, high = map(float, form.span({k: quantities.span(k) for k in form.quantities}))
        if c.above is not None:
            can, can_not = high > c.above, low <= c.above
        elif c.below is not None:
            can, can_not = low < c.below, high >= c.below
        elif c.between is not None:
            can = low <= c.between[1] and high >= c.between[0]
            can_not = low < c.between[0] or high > c.between[1]
        elif c.is_ in ("on", "off"):
            can, can_not = high >= SWITCHED_ON, low < SWITCHED_ON
            can, can_not = (can, can_not) if c.is_ == "on" else (can_not, can)
        else:
            assert isinstance(c.is_, float | int)
            can, can_not = low <= c.is_ <= high, low < high
        return can, can_not or bool(c.held)

    def _can_hold(self, conditions: Sequence[Condition]) -> bool:
        if _meet_somewhere(conditions):
            return True
        space, home = self._home([], conditions)
        return _can(space, [home.conditions.truth(condition) for condition in conditions])

    def _asked(self, condition: Condition) -> tuple[bool, bool]:
        space, home = self._home([], [condition])
        truth = home.conditions.truth(condition)
        return _can(space, [truth]), _can(space, [not_(truth)])

    def _home(
        self, corrections: Sequence[Correction], conditions: Sequence[Condition] = ()
    ) -> tuple[Space, Corrections]:
        """A space in which some conditions, and the corrections that they name, can be asked."""
        quantities = Quantities()
        space = Space(quantities, {})
        home = Corrections(self._calibration, space, quantities, self.ever)
        for condition in conditions:
            home.conditions.meet(condition)
        named = self._named([*conditions, *(c for x in corrections for c in _conditions(x))])
        home.meet([*named, *corrections])
        space.settle()
        for index, correction in enumerate(named):
            term = home.term(index, correction, can_latch=self.can_act(correction.id))
            home.conditions.active[correction.id] = term.acts
        return space, home

    def _named(self, conditions: Sequence[Condition]) -> list[Correction]:
        """The enabled corrections that these conditions ask for, and those that they ask for."""
        wanted = {name for condition in conditions for name in named_corrections(condition)}
        before: set[str] = set()
        while wanted - before:
            before |= wanted
            found = [c for c in self._calibration.spark.correction if c.id in before]
            wanted |= {name for c in found for name in named_corrections(c)}
        corrections = self._calibration.spark.correction
        return [c for c in corrections if c.id in wanted and c.enabled]


def _entangled(conditions: Sequence[Condition]) -> Iterator[list[Condition]]:
    """The conditions in groups of which each reads what no other group does."""
    if any(True for c in conditions for _ in named_corrections(c)):
        return iter([list(conditions)])  # a correction may hang on anything
    groups: list[tuple[set[str], list[Condition]]] = []
    for condition in conditions:
        names = set(_reads(condition))
        apart = [group for group in groups if not group[0] & names]
        met = [group for group in groups if group[0] & names]
        names = names.union(*(group[0] for group in met))
        groups = [*apart, (names, [c for group in met for c in group[1]] + [condition])]
    return (group[1] for group in groups)


def _meet_somewhere(conditions: Sequence[Condition]) -> bool:
    """Whether comparisons of one reading surely hold together: at a number that all of them allow.

    False says nothing: that is then found out by all the choices that there are.
    """
    quantities = Quantities()
    key, low, high = None, -np.inf, np.inf
    for one in conditions:
        if not isinstance(one, Comparison) or one.since is not None or one.is_ is not None:
            return False
        form = quantities.form(one)
        if not form.is_plain or form.main.scale <= 0.0 or form.key != (key or form.key):
            return False
        key = form.key
        bounds = one.between or (one.above, one.below)
        least, most = (
            None if at is None else (at - form.main.offset) / form.main.scale for at in bounds
        )
        low = low if least is None else max(low, least)
        high = high if most is None else min(high, most)
    if key is None:
        return False
    lowest, highest = (float(end) for end in quantities.span(key))
    return bool(max(low, lowest) < min(high, highest))


def _reads(condition: Condition) -> Iterator[str]:
    """Everything that a condition reads."""
    for reading in readings(condition):
        names = (reading.signal, reading.channel, reading.minus, reading.over)
        yield from (name.casefold() for name in names if name)


def _conditions(correction: Correction) -> list[Condition]:
    until = [] if correction.until in (None, "power off") else [correction.until]
    return [*correction.when, *until]  # type: ignore[list-item]


def _can(space: Space, truths: Sequence[Factor]) -> bool:
    """Whether some choice makes all of them true."""
    blocked = [Factor(f.over, np.where(f.values, 0.0, -np.inf)) for f in (*truths, *space.links)]
    if not blocked:
        return True
    outcome = take_out(blocked, space.sizes, keep=frozenset(), upwards=True)
    return bool(np.isfinite(sum(factor.values for factor in outcome.left)).any())
