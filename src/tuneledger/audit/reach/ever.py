"""What is possible at all, wherever the engine runs: the map's inputs are free here."""

from collections.abc import Sequence

import numpy as np

from tuneledger.audit.reach.factors import Factor, take_out
from tuneledger.audit.reach.quantities import Quantities
from tuneledger.audit.reach.space import Space
from tuneledger.audit.reach.terms import Corrections
from tuneledger.audit.reach.truths import not_, said
from tuneledger.calibrations.model import Calibration, Condition, Correction


class Possible:
    """Which conditions of a sheet can ever be true, and which can ever be false."""

    def __init__(self, calibration: Calibration) -> None:
        self._calibration = calibration
        self._ever: dict[str, tuple[bool, bool]] = {}
        self._can_act: dict[str, bool] = {}

    def ever(self, condition: Condition) -> tuple[bool, bool]:
        """Whether a condition can be true, and whether it can be false."""
        key = said(condition)
        if key not in self._ever:
            self._ever[key] = (True, True)  # what a condition inside itself would ask
            self._ever[key] = self._asked([condition])
        return self._ever[key]

    def together(self, conditions: Sequence[Condition]) -> tuple[bool, bool]:
        """Whether some conditions can all be true at once, and whether one can be false."""
        return self._asked(conditions)

    def can_act(self, correction_id: str) -> bool:
        """Whether a correction's own conditions can hold; it is taken as enabled."""
        if correction_id not in self._can_act:
            correction = self._calibration.spark.find(correction_id)
            self._can_act[correction_id] = True
            if correction is not None:
                self._can_act[correction_id] = self._asked(correction.when)[0]
        return self._can_act[correction_id]

    def both_act(self, one: Correction, other: Correction) -> bool:
        """Whether two corrections can be active at the same time."""
        space, home = self._home([one, other])
        terms = [home.term(0, c, can_latch=self.can_act(c.id)) for c in (one, other)]
        return _can(space, [term.acts for term in terms])

    def _asked(self, conditions: Sequence[Condition]) -> tuple[bool, bool]:
        space, home = self._home([], conditions)
        truths = [home.conditions.truth(condition) for condition in conditions]
        return _can(space, truths), any(_can(space, [not_(truth)]) for truth in truths)

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
        from tuneledger.evaluate.corrections import named_corrections

        wanted = {name for condition in conditions for name in named_corrections(condition)}
        before: set[str] = set()
        while wanted - before:
            before |= wanted
            found = [c for c in self._calibration.spark.correction if c.id in before]
            wanted |= {name for c in found for name in named_corrections(c)}
        corrections = self._calibration.spark.correction
        return [c for c in corrections if c.id in wanted and c.enabled]


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
