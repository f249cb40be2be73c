"""Numbers over the cells of a map and over the choices of a few variables.

A variable is anything that can be chosen: where a temperature stands, whether a latch is closed.
The largest sum over all choices is found without trying them together: variables are taken out
one after the other, each with the few factors that know it (bucket elimination, R. Dechter,
"Bucket elimination: a unifying framework for reasoning", Artificial Intelligence 113, 1999).
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from math import prod
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from tuneledger.record import record

Values: TypeAlias = NDArray[Any]
Assignment: TypeAlias = dict[int, Values]
"""Variable → the choice in each cell (whole numbers, in the shape of the cells)."""

CELL_AXES = 3  # a map has one to three axes; those that it lacks have length 1
MOST_BOXES = 20_000  # of one joint table, for each cell; beyond it a bound is given


@record(eq=False)
class Factor:
    """`values` has the three cell axes (length 1 where nothing changes along one), then one axis
    for each variable of `over`, whose numbers rise."""

    over: tuple[int, ...]
    values: Values

    @property
    def choices(self) -> int:
        return prod(self.values.shape[CELL_AXES:])


def constant(values: Values | float | bool) -> Factor:
    """A factor that hangs on no quantity: one number, or one for each cell of the map."""
    array = np.asarray(values)
    return Factor((), array if array.ndim else array.reshape((1,) * CELL_AXES))


def union(factors: Iterable[Factor]) -> tuple[int, ...]:
    """Every quantity that one of them hangs on, each once, rising."""
    return tuple(sorted({name for factor in factors for name in factor.over}))


def spread(factor: Factor, over: Sequence[int]) -> Values:
    """The values with an axis for every variable of `over`, length 1 where it is not known to the
    factor."""
    if factor.over == tuple(over):
        return factor.values
    shape = list(factor.values.shape[:CELL_AXES])
    sizes = dict(zip(factor.over, factor.values.shape[CELL_AXES:], strict=True))
    return factor.values.reshape(shape + [sizes.get(name, 1) for name in over])


def joined(factors: Sequence[Factor], operation: Any) -> Factor:
    """The factors brought together, two by two, by an operation such as `np.add`."""
    over = union(factors)
    values = spread(factors[0], over)
    for factor in factors[1:]:
        values = operation(values, spread(factor, over))
    return Factor(over, values)


def boxes(over: Iterable[int], sizes: Mapping[int, int]) -> int:
    """How many combinations of boxes those quantities make together."""
    return prod(sizes[name] for name in over)


@record(eq=False)
class Taken:
    """A variable that was taken out, and the best choice of it for every choice of `best.over`."""

    name: int
    best: Factor


@record(eq=False)
class Outcome:
    """What is left of a sum once its variables were taken out.

    exact: False where a joint table would have been too large and the result is only a bound
    """

    left: tuple[Factor, ...]
    taken: tuple[Taken, ...]
    exact: bool


def take_out(
    factors: Sequence[Factor], sizes: Mapping[int, int], *, keep: frozenset[int], upwards: bool
) -> Outcome:
    """Take out every variable but those to keep, each at the choice that makes the sum largest
    (`upwards`) or smallest.

    Where the factors that know a variable would make too large a table, they choose for
    themselves: the sum of the largest is never less than the largest sum, so it is a bound.
    """
    left = list(factors)
    taken: list[Taken] = []
    exact = True
    waiting = set(union(left)) - keep
    cost: dict[int, int] = {}
    while waiting:
        for name in waiting - cost.keys():
            cost[name] = boxes(union(f for f in left if name in f.over), sizes)
        name = min(waiting, key=lambda one: (cost[one], one))
        waiting.discard(name)
        known = [factor for factor in left if name in factor.over]
        left = [factor for factor in left if name not in factor.over]
        groups = _groups(known, sizes)
        exact &= len(groups) == 1
        for group in groups:
            table = joined(group, np.add)
            axis = CELL_AXES + table.over.index(name)
            rest = tuple(other for other in table.over if other != name)
            chosen = table.values.argmax(axis) if upwards else table.values.argmin(axis)
            values = table.values.max(axis) if upwards else table.values.min(axis)
            left.append(Factor(rest, values))
            for other in rest:
                cost.pop(other, None)  # it has other neighbours now
            if group is groups[0]:
                taken.append(Taken(name, Factor(rest, chosen)))
    return Outcome(tuple(left), tuple(taken), exact)


def _groups(known: Sequence[Factor], sizes: Mapping[int, int]) -> list[list[Factor]]:
    """The factors in as few groups as fit into joint tables of at most MOST_BOXES."""
    groups: list[list[Factor]] = []
    for factor in sorted(known, key=lambda f: -f.choices):
        for group in groups:
            if boxes(union([*group, factor]), sizes) <= MOST_BOXES:
                group.append(factor)
                break
        else:
            groups.append([factor])
    return groups


def at(factor: Factor, chosen: Assignment, shape: tuple[int, ...]) -> Values:
    """The factor's value in every cell at a choice of its variables."""
    if not factor.over:
        return np.broadcast_to(factor.values, shape)
    own = factor.values.shape[:CELL_AXES]
    where = [index if size > 1 else _FIRST for index, size in zip(_grid(shape), own, strict=True)]
    picked = factor.values[(*where, *(chosen[name] for name in factor.over))]
    return np.broadcast_to(picked, shape)


_FIRST = np.zeros((1,) * CELL_AXES, dtype=np.int64)


@lru_cache(maxsize=8)
def _grid(shape: tuple[int, ...]) -> tuple[Values, ...]:
    return tuple(np.ogrid[tuple(slice(size) for size in shape)])


def trace(taken: Sequence[Taken], chosen: Assignment, shape: tuple[int, ...]) -> Assignment:
    """The choice of every variable that was taken out, those chosen last being known."""
    found = dict(chosen)
    for step in reversed(taken):
        if step.name not in found:
            found[step.name] = at(step.best, found, shape)
    return found
