"""Where a reading stands for every choice, how it follows its quantity, how choices are listed."""

from math import inf, isfinite
from typing import Literal, TypeAlias

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.audit.reach.factors import CELL_AXES, Factor, Values
from tuneledger.audit.reach.quantities import Key, Span
from tuneledger.record import record

Kind: TypeAlias = Literal["at", "above", "from"]
"""What is cut: a table bends at the value; above it; from the value upwards."""
Cut: TypeAlias = tuple[float, Kind]

NEAR = 1e-9  # relative: two values that are one, reached by different sums


@record(eq=False)
class Seen:
    """A reading for every choice of the variable that moves it; `over` is empty where it is fixed.

    values: in the reading's unit, cell axes first; NaN for "never"
    side:   which side of the value is meant, in the direction of the reading
    """

    over: tuple[int, ...]
    values: FloatArray
    side: Values

    def past(self, cut: Cut) -> Factor:
        """Whether the reading is above a value, or from it upwards. False where it is NaN."""
        value, kind = cut
        with np.errstate(invalid="ignore"):
            same = np.abs(self.values - value) <= NEAR * max(1.0, abs(value))
            beyond = self.values > value
        edge = self.side > 0 if kind == "above" else self.side >= 0
        return Factor(self.over, np.where(same, edge, beyond))

    @property
    def never(self) -> Factor:
        return Factor(self.over, np.isnan(self.values))


@record(eq=False)
class Way:
    """How a reading follows the one quantity that is free: slope · q + shift, or above ÷ (…)."""

    quantity: Key
    slope: FloatArray
    shift: FloatArray
    above: FloatArray | None = None

    def forward(self, values: FloatArray, side: Values) -> FloatArray:
        slope = lifted(self.slope)
        line = slope * values + lifted(self.shift)
        if self.above is None:
            return line
        above = lifted(self.above)
        with np.errstate(divide="ignore", invalid="ignore"):
            found = above / line
        gone = np.abs(line) <= NEAR
        ends = np.where(above == 0.0, 0.0, np.copysign(inf, above * slope * side))
        return np.where(gone, ends, found)

    def back(self, value: float) -> FloatArray:
        with np.errstate(divide="ignore", invalid="ignore"):
            line = value if self.above is None else self.above / np.float64(value)
            found = (line - self.shift) / self.slope
        return np.asarray(np.where(np.isnan(found), 0.0, found))

    @property
    def direction(self) -> Values:
        return np.sign(self.slope if self.above is None else -self.above * self.slope)

    @property
    def pole(self) -> FloatArray | None:
        return None if self.above is None else np.asarray(-self.shift / self.slope)


def fixed(values: FloatArray) -> Seen:
    """A reading that cannot move: its number in each cell, or one number for all."""
    values = np.asarray(values, dtype=np.float64)
    values = values.reshape((1,) * CELL_AXES) if values.ndim == 0 else values
    return Seen((), values, np.zeros_like(values, dtype=np.int64))


def known(low: FloatArray, high: FloatArray) -> Span:
    """Ends that come out as infinity less infinity are open."""
    return np.where(np.isnan(low), -inf, low), np.where(np.isnan(high), inf, high)


def slope_sign(ends: FloatArray) -> Values:
    """Whether an end rises, falls or stays, from its values at two points (last axis)."""
    with np.errstate(invalid="ignore"):
        return np.sign(np.nan_to_num(ends[..., 1] - ends[..., 0]))[..., None]


def turned(kind: Kind) -> Kind:
    """The same cut seen in a mirror."""
    mirrored: dict[Kind, Kind] = {"at": "at", "above": "from", "from": "above"}
    return mirrored[kind]


def directions(way: Way) -> tuple[int, ...]:
    """The directions in which the reading follows its quantity, over all cells."""
    found = {int(one) for one in np.asarray(way.direction).ravel().tolist() if one}
    return tuple(sorted(found)) or (1,)


def lifted(values: FloatArray | Values) -> Values:
    """Cell axes with one more for the choices."""
    values = np.asarray(values)
    return values.reshape((1,) * (CELL_AXES + 1)) if values.ndim == 0 else values[..., None]


def stacked(columns: list[tuple[FloatArray, int]]) -> tuple[FloatArray, Values]:
    """(values, sides) over cells and choices, each once where all are the same in every cell."""
    if all(np.ndim(value) == 0 or np.size(value) == 1 for value, _ in columns):
        flat = np.array([float(np.asarray(value).reshape(())) for value, _ in columns])
        return flat.reshape((1,) * CELL_AXES + (-1,)), np.array(
            [side for _, side in columns], dtype=np.int64
        ).reshape((1,) * CELL_AXES + (-1,))
    cells = [lifted(value) for value, _ in columns]
    shape = np.broadcast_shapes(*(one.shape for one in cells))
    values = np.concatenate([np.broadcast_to(one, shape) for one in cells], axis=-1)
    side = np.array([side for _, side in columns], dtype=np.int64)
    return values, np.broadcast_to(side, values.shape)


def sorted_once(values: FloatArray, side: Values) -> tuple[FloatArray, Values]:
    """Rising by value and side, equal ones once; values that are as good as one are one."""
    flat, sides = values.ravel(), side.ravel()
    order = np.lexsort((sides, flat))
    flat, sides = flat[order].copy(), sides[order]
    for index in range(1, flat.size):
        before = flat[index - 1]
        near = isfinite(before) and flat[index] - before <= NEAR * max(1.0, abs(before))
        if near or flat[index] == before:
            flat[index] = before
    pairs = sorted(set(zip(flat.tolist(), sides.tolist(), strict=True)))
    shape = (1,) * CELL_AXES + (-1,)
    return (
        np.array([value for value, _ in pairs]).reshape(shape),
        np.array([one for _, one in pairs], dtype=np.int64).reshape(shape),
    )


def within(
    values: FloatArray, side: Values, low: FloatArray, high: FloatArray
) -> tuple[FloatArray, Values]:
    """Values and sides held within a span; what lies outside stands at its end."""
    low, high = lifted(low), lifted(high)
    side = np.where((values >= high) & ((values > high) | (side > 0)), 0, side)
    side = np.where((values <= low) & ((values < low) | (side < 0)), 0, side)
    return np.clip(values, low, high), side
