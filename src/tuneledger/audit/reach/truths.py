"""Conditions over the choices of a space, with what they remember.

What a condition remembers is a choice too. A hysteresis: the state before now, one that some way
of driving can leave behind (all comparisons of one reading together, since they saw the same
drive). `held` and `linger`: how long it has been so, anything. A latch: closed or not, if it can
ever close. Conditions that are written alike remember alike.
"""

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache, reduce
from typing import Any, TypeAlias

import numpy as np

from tuneledger.audit.reach.factors import (
    CELL_AXES,
    MOST_BOXES,
    Factor,
    boxes,
    constant,
    joined,
    union,
)
from tuneledger.audit.reach.memory import states
from tuneledger.audit.reach.quantities import Form, Key, Named, Quantities
from tuneledger.audit.reach.space import Space
from tuneledger.audit.reach.ways import Cut
from tuneledger.calibrations.model import (
    AnyOf,
    Comparison,
    Condition,
    CorrectionActive,
    Part,
    Reading,
)
from tuneledger.calibrations.paths import as_raw
from tuneledger.units import conversion

Ever: TypeAlias = Callable[[Condition], tuple[bool, bool]]
"""Whether a condition can be true at all, and false at all, wherever the engine runs."""

SWITCHED_ON = 0.5
ALWAYS, NEVER = constant(True), constant(False)


@lru_cache(maxsize=4096)
def said(part: Part) -> str:
    """A part of a sheet in a form that is the same where the same is meant."""
    return repr(as_raw(part))


def any_of(truths: Sequence[Factor]) -> Factor:
    """True where one of them is, whatever table that needs."""
    return reduce(_or, truths, NEVER)


def not_(truth: Factor) -> Factor:
    """True where the other is not."""
    return Factor(truth.over, ~truth.values)


def _or(one: Factor, other: Factor) -> Factor:
    return joined([one, other], np.logical_or)


class Conditions:
    """The conditions of one sheet over one space.

    ever: what is possible wherever the engine runs, for what was before
    Meet every condition and axis with `meet` first, then settle the space, then ask for truths.
    """

    def __init__(self, space: Space, quantities: Quantities, ever: Ever) -> None:
        self._space, self._quantities, self._ever = space, quantities, ever
        self._memories: dict[Key, list[Comparison]] = {}
        self._before: dict[Key, tuple[int, list[tuple[bool, ...]]]] = {}
        self.active: dict[str, Factor] = {}  # correction id → where it is active

    # ---- what is asked for

    def form(self, reading: Reading) -> Form:
        """A reading over quantities; a `since` is a time of its own."""
        if reading.since is None:
            return self._quantities.form(reading)
        scale, offset = conversion("s", reading.unit) or (1.0, 0.0) if reading.unit else (1.0, 0.0)
        return Form(Named(("since", said(reading.since)), scale, offset))

    def meet(self, condition: Condition) -> None:
        """Tell the space what a condition compares, and remember what it remembers."""
        if isinstance(condition, AnyOf):
            for one in condition.any:
                self.meet(one)
        elif isinstance(condition, Comparison):
            self.meet_reading(condition, list(_cuts(condition)))
            if condition.release is not None:
                known = self._memories.setdefault(self._memory(condition), [])
                known += [condition] if bare(condition) not in map(bare, known) else []
            for form, seconds in _timers(condition):
                self._space.use(form, [(seconds, "from")])

    def meet_reading(self, reading: Reading, cuts: Sequence[Cut]) -> None:
        """Tell the space at which values a reading is cut."""
        form = self.form(reading)
        self._space.use(form, cuts)
        if reading.since is not None:
            can, can_not = self._ever(reading.since)
            self._space.may_be_never(form.main.key, only=not (can and can_not))

    # ---- what is answered

    def truth(self, condition: Condition) -> Factor:
        """Where a condition is true, for every choice."""
        if isinstance(condition, AnyOf):
            return self.any_of([self.truth(one) for one in condition.any])
        if isinstance(condition, CorrectionActive):
            return self.active.get(condition.correction, NEVER)
        truth = self._compared(condition)
        for form, seconds in _timers(condition):
            passed = self._space.see(form).past((seconds, "from"))
            if form.main.key[0] == "held":
                truth = self.all_of([truth, passed])
            elif self._ever(without(condition, "linger"))[0]:
                truth = self.any_of([truth, not_(passed)])
        return truth

    def _compared(self, c: Comparison) -> Factor:
        seen = self._space.see(self.form(c))
        past = seen.past
        hit = self._hit(c, past)
        if seen.never.values.any():
            hit = self.all_of([hit, not_(seen.never)])
        if c.release is None:
            return hit
        passed = (
            not_(past((c.release, "from"))) if c.above is not None else past((c.release, "above"))
        )
        if seen.never.values.any():
            passed = self.any_of([passed, seen.never])
        return self.any_of([hit, self.all_of([not_(passed), self._was(c)])])

    def _hit(self, c: Comparison, past: Callable[[Cut], Factor]) -> Factor:
        if c.above is not None:
            return past((c.above, "above"))
        if c.below is not None:
            return not_(past((c.below, "from")))
        if c.between is not None:
            low, high = c.between
            return self.all_of([past((low, "from")), not_(past((high, "above")))])
        if c.is_ in ("on", "off"):
            on = past((SWITCHED_ON, "from"))
            return on if c.is_ == "on" else not_(on)
        assert isinstance(c.is_, float | int)
        return self.all_of([past((c.is_, "from")), not_(past((c.is_, "above")))])

    def _was(self, c: Comparison) -> Factor:
        """Whether a hysteresis was true before now: one choice for all of one reading."""
        key = self._memory(c)
        known = self._memories[key]
        if key not in self._before:
            left = states(known, self._span(c))
            self._before[key] = (self._space.choice(len(left)), left)
        number, left = self._before[key]
        place = list(map(bare, known)).index(bare(c))
        column = np.array([state[place] for state in left])
        return Factor((number,), column.reshape((1,) * CELL_AXES + (-1,)))

    def _memory(self, c: Comparison) -> Key:
        form = self.form(c)
        return ("memory", repr(form.main)) if form.is_plain else form.key

    def _span(self, c: Comparison) -> tuple[float, float]:
        """What the reading can be wherever the engine runs."""
        form = self.form(c)
        low, high = form.span({key: self._quantities.span(key) for key in form.quantities})
        return float(low), float(high)

    def all_of(self, truths: Sequence[Factor]) -> Factor:
        """True where all are; where that would need too large a table, free: true or false."""
        return reduce(lambda one, other: self._both(one, other, np.logical_and), truths, ALWAYS)

    def any_of(self, truths: Sequence[Factor]) -> Factor:
        """True where one is; free where that would need too large a table."""
        return reduce(lambda one, other: self._both(one, other, np.logical_or), truths, NEVER)

    def _both(self, one: Factor, other: Factor, operation: Any) -> Factor:
        if boxes(union([one, other]), self._space.sizes) <= MOST_BOXES:
            return joined([one, other], operation)
        self._space.loose.add(("too large", str(len(self._space.loose))))
        return Factor((self._space.choice(2),), np.array([False, True]).reshape(1, 1, 1, 2))


def bare(c: Comparison) -> str:
    """The comparison itself, without its timers."""
    return said(without(c, "held", "linger"))


def without(c: Comparison, *keys: str) -> Comparison:
    """The comparison with these of its keys left out; it is not checked again."""
    return c.model_copy(update=dict.fromkeys(keys))


def _timers(c: Comparison) -> Iterator[tuple[Form, float]]:
    """How long it has been so: first `held`, then `linger` on what that leaves."""
    if c.held:
        yield Form(Named(("held", said(without(c, "held", "linger"))))), c.held
    if c.linger:
        yield Form(Named(("linger", said(without(c, "linger"))))), c.linger


def _cuts(c: Comparison) -> Iterator[Cut]:
    if c.above is not None:
        yield c.above, "above"
    if c.below is not None:
        yield c.below, "from"
    if c.between is not None:
        yield c.between[0], "from"
        yield c.between[1], "above"
    if c.is_ in ("on", "off"):
        yield SWITCHED_ON, "from"
    elif isinstance(c.is_, float | int):
        yield c.is_, "from"
        yield c.is_, "above"
    if c.release is not None:
        yield c.release, "from" if c.above is not None else "above"


def cells_of(truth: Factor) -> Factor:
    """Where some choice makes it true, cell by cell."""
    axes = tuple(range(CELL_AXES, truth.values.ndim))
    return Factor((), np.asarray(truth.values.any(axis=axes))) if axes else truth
