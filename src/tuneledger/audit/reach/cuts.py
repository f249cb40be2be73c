"""How the choices of one free quantity come about.

Every reading of it is cut where a table bends or a condition changes. The cuts are brought back to
the quantity, held within what it can be, and what nothing tells apart is one choice.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.audit.reach.factors import CELL_AXES, Values
from tuneledger.audit.reach.quantities import Form, Key, Span
from tuneledger.audit.reach.ways import (
    NEAR,
    Cut,
    Kind,
    Seen,
    Way,
    lifted,
    sorted_once,
    stacked,
    within,
)

SIDES: Mapping[Kind, tuple[int, ...]] = {"at": (0,), "above": (0, 1), "from": (-1, 0)}
ALL_SIDES = (-1, 0, 1)
NEVER = np.nan  # the time since something that has never happened
_ALIKE = (1,) * CELL_AXES  # the same in every cell

Column = tuple[FloatArray, int]
"""A value in each cell (or one for all), and the side of it that is meant."""


@dataclass
class Use:
    """A reading, and all that it is compared with."""

    form: Form
    cuts: dict[Cut, None] = field(default_factory=dict)


@dataclass(eq=False)
class Variable:
    """What can be chosen for a quantity, or for a reading: values and sides over the cells."""

    number: int
    values: FloatArray
    side: Values


def way_of(form: Form, free: Key, fixed: Mapping[Key, FloatArray]) -> Way:
    """The straight line, or the quotient, along which a reading follows its free quantity.

    fixed: what its other quantities are in each cell
    """
    one = np.asarray(1.0)
    if form.over is not None and form.over.key == free:
        above = form.main.of(fixed[form.main.key])
        if form.minus is not None:
            above = above - form.minus.of(fixed[form.minus.key])
        return Way(free, form.over.scale * one, form.over.offset * one, np.asarray(above))
    if form.main.key == free:
        slope, shift = form.main.scale * one, form.main.offset * one
        if form.minus is not None:
            shift = np.asarray(shift - form.minus.of(fixed[form.minus.key]))
    else:
        assert form.minus is not None
        slope = -form.minus.scale * one
        shift = np.asarray(form.main.of(fixed[form.main.key]) - form.minus.offset)
    divisor = one if form.over is None else form.over.of(fixed[form.over.key])
    with np.errstate(divide="ignore", invalid="ignore"):
        return Way(free, np.asarray(slope / divisor), np.asarray(shift / divisor))


def choices(
    span: Span, columns: list[Column], poles: list[FloatArray], *, never: bool
) -> tuple[FloatArray, Values]:
    """Values and sides within what the quantity can be, rising; what lies outside is at the end.

    poles: where a reading divides by it and there is no number; never: it may never have happened
    """
    low, high = span
    values, side = stacked([*columns, (np.asarray(low), 0), (np.asarray(high), 0)])
    values, side = within(values, side, low, high)
    for pole in poles:
        on_it = (np.abs(values - lifted(pole)) <= NEAR) & (side == 0)
        side = np.where(on_it, np.where(lifted(pole) < high, 1, -1), side)
    if values.shape[:CELL_AXES] == _ALIKE:
        values, side = sorted_once(values, side)
    else:
        order = np.lexsort((side, values), axis=-1)
        values, side = (np.take_along_axis(one, order, -1) for one in (values, side))
    if never:
        missing = np.full((*values.shape[:CELL_AXES], 1), NEVER)
        values = np.concatenate([values, missing], axis=-1)
        side = np.concatenate([side, np.zeros(missing.shape, dtype=np.int64)], axis=-1)
    return values, side


def nothing_but_never() -> tuple[FloatArray, Values]:
    """The one choice of a time since something that surely never happens."""
    return np.full((*_ALIKE, 1), NEVER), np.zeros((*_ALIKE, 1), dtype=np.int64)


def folded(
    values: FloatArray, side: Values, ways: Mapping[Key, Way], uses: Mapping[Key, Use]
) -> tuple[FloatArray, Values]:
    """One choice for all that no table and no condition tells apart."""
    cuts = [(key, cut) for key in ways for cut in uses[key].cuts]
    if values.shape[:CELL_AXES] != _ALIKE or any(cut[1] == "at" for _, cut in cuts):
        return values, side
    marks: list[BoolArray] = [np.isnan(values).ravel()]
    for key, cut in cuts:
        way = ways[key]
        seen = Seen((0,), way.forward(values, side), side * lifted(way.direction))
        if seen.values.shape != values.shape:
            return values, side
        marks.append(seen.past(cut).values.ravel())
    seen_once = {row.tobytes(): at for at, row in reversed(list(enumerate(np.stack(marks, 1))))}
    keep = sorted(seen_once.values())
    return values[..., keep], side[..., keep]
