"""Every quantity cut where a table bends or a condition changes: a short list of choices.

Between two cuts nothing changes but along straight lines, so what can be reached at most or at
least is reached at an end: each choice is a value and a side, 0 at the value, ±1 as near above or
below it as one likes. That is how a value "just above the threshold" is among them.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.audit.reach.factors import CELL_AXES, Factor, Values
from tuneledger.audit.reach.quantities import Form, Key, Quantities, Span
from tuneledger.audit.reach.ways import (
    NEAR,
    Cut,
    Kind,
    Seen,
    Way,
    directions,
    fixed,
    known,
    lifted,
    slope_sign,
    sorted_once,
    stacked,
    turned,
    within,
)

_SIDES: Mapping[Kind, tuple[int, ...]] = {"at": (0,), "above": (0, 1), "from": (-1, 0)}
_ALL_SIDES = (-1, 0, 1)
NEVER = np.nan  # the time since something that has never happened


@dataclass
class _Use:
    form: Form
    cuts: dict[Cut, None] = field(default_factory=dict)


@dataclass(eq=False)
class _Variable:
    number: int
    values: FloatArray
    side: Values


class Space:
    """All that can be chosen, for every cell at once.

    fixed: quantity, or form of a reading → its value in each cell (three cell axes)
    Say with `use` what every reading is compared with, then `settle`, then ask with `see`.
    """

    def __init__(self, quantities: Quantities, fixed: Mapping[Key, FloatArray]) -> None:
        self._quantities = quantities
        self._fixed = dict(fixed)
        self._uses: dict[Key, _Use] = {}
        self._never: set[Key] = set()
        self._nothing_but_never: set[Key] = set()
        self._variables: dict[Key, _Variable] = {}
        self._seen: dict[Key, Seen] = {}
        self._bent: set[Key] = set()
        self.sizes: dict[int, int] = {}
        self.links: list[Factor] = []
        self.loose: set[Key] = set()  # forms whose quantities are not wholly held together

    # ---- what is asked for

    def use(self, form: Form, cuts: Iterable[Cut]) -> None:
        use = self._uses.setdefault(form.key, _Use(form))
        for value, kind in cuts:
            own = (value, kind)
            if form.is_plain:  # in the quantity's own unit, whatever unit it is read in
                in_own = (value - form.main.offset) / form.main.scale
                own = (in_own, kind if form.main.scale > 0 else turned(kind))
            use.cuts[own] = None
        if form.is_plain:
            use.form = Form(type(form.main)(form.main.key))

    def may_be_never(self, key: Key, *, only: bool = False) -> None:
        """A time since something that may never have happened, or surely never has."""
        self._never.add(key)
        if only:
            self._nothing_but_never.add(key)

    def choice(self, size: int) -> int:
        """A variable of so many choices that has no quantity: a latch, a memory."""
        number = len(self.sizes)
        self.sizes[number] = size
        return number

    def see(self, form: Form) -> Seen:
        """A reading over its choices."""
        if not form.is_plain:
            return self._seen[form.key]
        own = self._seen[form.key]
        turned = 1 if form.main.scale > 0 else -1
        return Seen(own.over, form.main.of(own.values), own.side * turned)

    # ---- how the choices come about

    def settle(self) -> None:
        ways: dict[Key, Way] = {}
        joint: list[_Use] = []
        for key, use in self._uses.items():
            free = [one for one in use.form.quantities if one not in self._fixed]
            if key in self._fixed:
                self._seen[key] = fixed(self._fixed[key])
                self.loose |= {key} if not use.form.is_plain and self._is_shared(free) else set()
            elif not free and use.form.rate is None:
                self._seen[key] = fixed(use.form.span(self._spans(use.form))[0])
            elif len(free) == 1 and use.form.rate is None:
                ways[key] = self._way(use.form, free[0])
            else:
                joint.append(use)
        linked = [(use, self._linked_to(use)) for use in joint]
        self._cut_quantities(ways, linked)
        for use, quantity in linked:
            self._cut_joint(use, quantity)

    def _way(self, form: Form, free: Key) -> Way:
        """The straight line, or the quotient, along which a reading follows its free quantity."""
        at = self._fixed
        one = np.asarray(1.0)
        if form.over is not None and form.over.key == free:
            above = form.main.of(at[form.main.key])
            if form.minus is not None:
                above = above - form.minus.of(at[form.minus.key])
            self._bent.add(free)
            return Way(free, form.over.scale * one, form.over.offset * one, np.asarray(above))
        if form.main.key == free:
            slope, shift = form.main.scale * one, form.main.offset * one
            if form.minus is not None:
                shift = np.asarray(shift - form.minus.of(at[form.minus.key]))
        else:
            assert form.minus is not None
            slope = -form.minus.scale * one
            shift = np.asarray(form.main.of(at[form.main.key]) - form.minus.offset)
        divisor = one if form.over is None else form.over.of(at[form.over.key])
        with np.errstate(divide="ignore", invalid="ignore"):
            return Way(free, np.asarray(slope / divisor), np.asarray(shift / divisor))

    def _cut_quantities(
        self, ways: Mapping[Key, Way], linked: list[tuple[_Use, Key | None]]
    ) -> None:
        columns: dict[Key, list[tuple[FloatArray, int]]] = {}
        poles: dict[Key, list[FloatArray]] = {}
        for key, way in ways.items():
            own = columns.setdefault(way.quantity, [])
            for value, kind in self._uses[key].cuts:
                turns = directions(way)
                own += [(way.back(value), one * turn) for one in _SIDES[kind] for turn in turns]
            if way.pole is not None:
                own += [(way.pole, one) for one in (-1, 1)]
                poles.setdefault(way.quantity, []).append(way.pole)
        for use, quantity in linked:
            if quantity is not None:
                own = columns.setdefault(quantity, [])
                own += [(v, one) for v in self._met(use, quantity) for one in _ALL_SIDES]
        held = {quantity for _, quantity in linked}
        for quantity, own in columns.items():
            values, side = self._choices(quantity, own, poles.get(quantity, []))
            if quantity not in held:
                mine = {k: w for k, w in ways.items() if w.quantity == quantity}
                values, side = self._folded(values, side, mine)
            self._variable(quantity, values, side)
        for key, way in ways.items():
            variable = self._variables[way.quantity]
            seen = way.forward(variable.values, variable.side)
            side = variable.side * lifted(way.direction)
            self._seen[key] = Seen((variable.number,), seen, side)

    def _choices(
        self, key: Key, columns: list[tuple[FloatArray, int]], poles: list[FloatArray]
    ) -> tuple[FloatArray, Values]:
        """Values and sides within what the quantity can be; what lies outside stands at the end."""
        low, high = self._quantities.span(key)
        if key in self._nothing_but_never:
            return np.full((1,) * CELL_AXES + (1,), NEVER), np.zeros((1,) * 4, dtype=np.int64)
        values, side = stacked([*columns, (np.asarray(low), 0), (np.asarray(high), 0)])
        values, side = within(values, side, low, high)
        for pole in poles:
            on_it = (np.abs(values - lifted(pole)) <= NEAR) & (side == 0)
            side = np.where(on_it, np.where(lifted(pole) < high, 1, -1), side)
        if values.shape[:CELL_AXES] == (1,) * CELL_AXES:
            values, side = sorted_once(values, side)
        if key in self._never:
            never = np.full((*values.shape[:CELL_AXES], 1), NEVER)
            values = np.concatenate([values, never], axis=-1)
            side = np.concatenate([side, np.zeros(never.shape, dtype=np.int64)], axis=-1)
        return values, side

    def _folded(
        self, values: FloatArray, side: Values, ways: Mapping[Key, Way]
    ) -> tuple[FloatArray, Values]:
        """One choice for all that no table and no condition tells apart."""
        cuts = [(key, cut) for key in ways for cut in self._uses[key].cuts]
        if values.shape[:CELL_AXES] != (1,) * CELL_AXES or any(cut[1] == "at" for _, cut in cuts):
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

    # ---- readings of two quantities that are both free

    def _is_shared(self, keys: Iterable[Key]) -> bool:
        return any(self._readers(key) > 1 for key in keys)

    def _readers(self, key: Key) -> int:
        return sum(key in use.form.quantities for use in self._uses.values())

    def _linked_to(self, use: _Use) -> Key | None:
        """The one of its quantities that something else reads too, where it is one.

        More than one, or one that occurs twice in the reading, cannot be held together here: then
        the reading is taken to move freely, which is a bound.
        """
        free = [one for one in use.form.quantities if one not in self._fixed]
        shared = [key for key in dict.fromkeys(free) if self._readers(key) > 1]
        twice = len(set(free)) < len(free)
        if twice or len(shared) > 1 or (shared and not self._is_straight(use, shared[0])):
            self.loose.add(use.form.key)
            return None
        return shared[0] if shared else None

    def _is_straight(self, use: _Use, shared: Key) -> bool:
        """Whether its span is a straight line along the quantity that it shares."""
        form = use.form
        low, _ = self._quantities.span(shared)
        ends = self._bounds(use, shared, np.array([1.0, 2.0]))
        over_shared = form.over is not None and form.over.key == shared
        bent = form.over is not None and low < 0
        known = (np.isfinite(end).all() or np.isinf(end).all() for end in ends)
        return not over_shared and not bent and all(known)

    def _bounds(self, use: _Use, quantity: Key, values: FloatArray) -> Span:
        """The span of the reading where that quantity has these values (last axis).

        Of a `rate` it is what it can have been before that is free, not what it is now.
        """
        spans = {k: (lifted(a), lifted(b)) for k, (a, b) in self._spans(use.form).items()}
        values = values.reshape((1,) * CELL_AXES + (-1,)) if values.ndim == 1 else values
        if use.form.rate is None:
            return known(*use.form.span(spans | {quantity: (values, values)}))
        now = Form(use.form.main, use.form.minus, use.form.over)
        low_then, high_then = now.span(spans)
        low, high = now.span(spans | {quantity: (values, values)})
        with np.errstate(invalid="ignore"):
            return known((low - high_then) / use.form.rate, (high - low_then) / use.form.rate)

    def _met(self, use: _Use, quantity: Key) -> list[FloatArray]:
        """Where along the quantity the ends of the reading's span meet one of its cuts."""
        out = []
        for ends in self._bounds(use, quantity, np.array([0.0, 1.0])):
            for value, _ in use.cuts:
                with np.errstate(divide="ignore", invalid="ignore"):
                    met = (value - ends[..., 0]) / (ends[..., 1] - ends[..., 0])
                if np.isfinite(met).all():
                    out.append(np.asarray(met))
        return out

    def _cut_joint(self, use: _Use, quantity: Key | None) -> None:
        """A variable for the reading itself, held to what the shared quantity leaves open."""
        low, high = use.form.span(self._spans(use.form))
        columns = [
            (np.asarray(value), side) for value, kind in use.cuts for side in _SIDES[kind]
        ] + [(low, 0), (high, 0)]
        if quantity is not None:
            other = self._variables[quantity]
            for end in self._bounds(use, quantity, other.values):
                for index in range(end.shape[-1]):
                    if np.isfinite(end[..., index]).all():
                        columns += [(end[..., index], side) for side in _ALL_SIDES]
            columns += [(np.asarray(value), side) for value, _ in use.cuts for side in _ALL_SIDES]
        values, side = stacked(columns)
        values, side = within(values, side, low, high)
        if values.shape[:CELL_AXES] == (1,) * CELL_AXES:
            values, side = sorted_once(values, side)
        made = self._variable(use.form.key, values, side)
        self._seen[use.form.key] = Seen((made.number,), values, side)
        if quantity is not None:
            self.links.append(self._link(use, quantity, made))

    def _link(self, use: _Use, quantity: Key, made: _Variable) -> Factor:
        """Which choices of a quantity and of a reading of it can stand together.

        On the rim of what can be, the sides decide: a reading just above the rim is possible
        where the rim itself rises on that side of the quantity.
        """
        other = self._variables[quantity]
        lows, highs = self._bounds(use, quantity, other.values)
        first, last = self._bounds(use, quantity, np.array([0.0, 1.0]))
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

    # ---- small things

    def _spans(self, form: Form) -> dict[Key, Span]:
        return {
            key: (self._fixed[key], self._fixed[key])
            if key in self._fixed
            else self._quantities.span(key)
            for key in form.quantities
        }

    def _variable(self, key: Key, values: FloatArray, side: Values) -> _Variable:
        made = _Variable(self.choice(values.shape[-1]), values, side)
        self._variables[key] = made
        return made

    def is_bent(self, number: int) -> bool:
        """Whether some reading divides by this variable's quantity."""
        return any(self._variables[key].number == number for key in self._bent)

    def values_of(self, number: int) -> FloatArray | None:
        """The choices of a quantity in rising order, where they are the same in every cell."""
        for variable in self._variables.values():
            if variable.number == number:
                alike = variable.values.shape[:CELL_AXES] == (1,) * CELL_AXES
                return variable.values.ravel() if alike else None
        return None

    def readings_of(self, number: int) -> int:
        """How many different forms of reading follow this variable."""
        return sum(seen.over == (number,) for seen in self._seen.values())
