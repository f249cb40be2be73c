"""A reading of which two quantities are free: it is chosen itself, within what they leave open."""

from collections.abc import Mapping

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.audit.reach.cuts import ALL_SIDES, SIDES, Column, Use, Variable
from tuneledger.audit.reach.factors import CELL_AXES, Factor, Values
from tuneledger.audit.reach.quantities import Form, Key, Span
from tuneledger.audit.reach.ways import (
    NEAR,
    known,
    lifted,
    slope_sign,
    sorted_once,
    stacked,
    within,
)
from tuneledger.record import record


@record(eq=False)
class Joint:
    """What is asked of such a reading, and what each of its quantities can be by itself."""

    use: Use
    spans: Mapping[Key, Span]

    def is_straight(self, shared: Key) -> bool:
        """Whether its span is a straight line along the quantity that it shares."""
        form = self.use.form
        low, _ = self.spans[shared]
        ends = self.bounds(shared, np.array([1.0, 2.0]))
        over_shared = form.over is not None and form.over.key == shared
        bent = form.over is not None and low < 0
        told = (np.isfinite(end).all() or np.isinf(end).all() for end in ends)
        return not over_shared and not bent and all(told)

    def bounds(self, quantity: Key, values: FloatArray) -> Span:
        """The span of the reading where that quantity has these values (last axis).

        Of a `rate` it is what it can have been before that is free, not what it is now.
        """
        form = self.use.form
        spans = {k: (lifted(a), lifted(b)) for k, (a, b) in self.spans.items()}
        values = values.reshape((1,) * CELL_AXES + (-1,)) if values.ndim == 1 else values
        if form.rate is None:
            return known(*form.span(spans | {quantity: (values, values)}))
        now = Form(form.main, form.minus, form.over)
        low_then, high_then = now.span(spans)
        low, high = now.span(spans | {quantity: (values, values)})
        with np.errstate(invalid="ignore"):
            return known((low - high_then) / form.rate, (high - low_then) / form.rate)

    def met(self, quantity: Key) -> list[FloatArray]:
        """Where along the quantity the ends of the reading's span meet one of its cuts."""
        out = []
        for ends in self.bounds(quantity, np.array([0.0, 1.0])):
            for value, _ in self.use.cuts:
                with np.errstate(divide="ignore", invalid="ignore"):
                    met = (value - ends[..., 0]) / (ends[..., 1] - ends[..., 0])
                if np.isfinite(met).all():
                    out.append(np.asarray(met))
        return out

    def choices(self, quantity: Key | None, other: Variable | None) -> tuple[FloatArray, Values]:
        """Values and sides of the reading itself; `other`: those of the quantity that it shares."""
        cuts = self.use.cuts
        low, high = self.use.form.span(self.spans)
        columns: list[Column] = [
            (np.asarray(value), side) for value, kind in cuts for side in SIDES[kind]
        ]
        columns += [(low, 0), (high, 0)]
        if quantity is not None and other is not None:
            for end in self.bounds(quantity, other.values):
                for index in range(end.shape[-1]):
                    if np.isfinite(end[..., index]).all():
                        columns += [(end[..., index], side) for side in ALL_SIDES]
            columns += [(np.asarray(value), side) for value, _ in cuts for side in ALL_SIDES]
        values, side = stacked(columns)
        values, side = within(values, side, low, high)
        if values.shape[:CELL_AXES] == (1,) * CELL_AXES:
            values, side = sorted_once(values, side)
        return values, side

    def link(self, quantity: Key, other: Variable, made: Variable) -> Factor:
        """Which choices of a quantity (`other`) and of the reading of it can stand together.

        On the rim of what can be, the sides decide: a reading just above the rim is possible
        where the rim itself rises on that side of the quantity.
        """
        lows, highs = self.bounds(quantity, other.values)
        first, last = self.bounds(quantity, np.array([0.0, 1.0]))
        along = (other.side * slope_sign(end) for end in (first, last))
        q_side = [one[..., :, None] for one in along]
        value, side = made.values[..., None, :], made.side[..., None, :]
        room = NEAR * np.maximum(1.0, np.abs(value))
        low, high = lows[..., :, None], highs[..., :, None]
        with np.errstate(invalid="ignore"):
            over_low, under_high = value - low, high - value
        on_low = (side > 0) | (q_side[0] < 0) | ((side == 0) & (q_side[0] <= 0))
        on_high = (side < 0) | (q_side[1] > 0) | ((side == 0) & (q_side[1] >= 0))
        fits = np.where(np.abs(over_low) <= room, on_low, over_low > 0) | np.isneginf(low)
        fits &= np.where(np.abs(under_high) <= room, on_high, under_high > 0) | np.isposinf(high)
        if other.number > made.number:
            raise AssertionError("a quantity is cut before what is read of it")
        return Factor((other.number, made.number), fits)
