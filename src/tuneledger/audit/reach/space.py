"""Every quantity cut where a table bends or a condition changes: a short list of choices.

Between two cuts nothing changes but along straight lines, so what can be reached at most or at
least is reached at an end: each choice is a value and a side, 0 at the value, ±1 as near above or
below it as one likes. That is how a value "just above the threshold" is among them.
"""

from collections.abc import Iterable, Iterator, Mapping

from tuneledger.arrays import FloatArray
from tuneledger.audit.reach.cuts import (
    ALL_SIDES,
    SIDES,
    Column,
    Use,
    Variable,
    choices,
    folded,
    nothing_but_never,
    way_of,
)
from tuneledger.audit.reach.factors import Factor, Values
from tuneledger.audit.reach.joint import Joint
from tuneledger.audit.reach.quantities import Form, Key, Quantities, Span
from tuneledger.audit.reach.ways import Cut, Seen, Way, directions, fixed, lifted, turned


class Space:
    """All that can be chosen, for every cell at once.

    fixed: quantity, or form of a reading → its value in each cell (three cell axes)
    Say with `use` what every reading is compared with, then `settle`, then ask with `see`.
    """

    def __init__(self, quantities: Quantities, fixed: Mapping[Key, FloatArray]) -> None:
        self._quantities = quantities
        self._fixed = dict(fixed)
        self._uses: dict[Key, Use] = {}
        self._never: set[Key] = set()
        self._nothing_but_never: set[Key] = set()
        self._variables: dict[Key, Variable] = {}
        self._seen: dict[Key, Seen] = {}
        self._bent: set[Key] = set()
        self.sizes: dict[int, int] = {}
        self.links: list[Factor] = []
        self.loose: set[Key] = set()  # forms whose quantities are not wholly held together

    # ---- what is asked for

    def use(self, form: Form, cuts: Iterable[Cut]) -> None:
        """A reading is compared with these values, or looked up at them."""
        use = self._uses.setdefault(form.key, Use(form))
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
        """Make the choices of everything that was asked for."""
        ways: dict[Key, Way] = {}
        several: list[Use] = []
        for key, use in self._uses.items():
            free = [one for one in use.form.quantities if one not in self._fixed]
            if key in self._fixed:
                self._seen[key] = fixed(self._fixed[key])
                self.loose |= {key} if not use.form.is_plain and self._is_shared(free) else set()
            elif not free and use.form.rate is None:
                self._seen[key] = fixed(use.form.span(self._spans(use.form))[0])
            elif len(free) == 1 and use.form.rate is None:
                ways[key] = way_of(use.form, free[0], self._fixed)
                self._bent |= {free[0]} if ways[key].above is not None else set()
            else:
                several.append(use)
        joints = [Joint(use, self._spans(use.form)) for use in several]
        linked = [(joint, self._linked_to(joint)) for joint in joints]
        self._cut_quantities(ways, linked)
        for joint, quantity in linked:
            self._cut_joint(joint, quantity)

    def _cut_quantities(
        self, ways: Mapping[Key, Way], linked: list[tuple[Joint, Key | None]]
    ) -> None:
        columns, poles = self._columns(ways)
        for joint, quantity in linked:
            if quantity is not None:
                own = columns.setdefault(quantity, [])
                own += [(v, one) for v in joint.met(quantity) for one in ALL_SIDES]
        held = {quantity for _, quantity in linked}
        for quantity, own in columns.items():
            if quantity in self._nothing_but_never:
                values, side = nothing_but_never()
            else:
                span, never = self._quantities.span(quantity), quantity in self._never
                values, side = choices(span, own, poles.get(quantity, []), never=never)
            if quantity not in held:
                mine = {k: w for k, w in ways.items() if w.quantity == quantity}
                values, side = folded(values, side, mine, self._uses)
            self._variable(quantity, values, side)
        for key, way in ways.items():
            variable = self._variables[way.quantity]
            seen = way.forward(variable.values, variable.side)
            side = variable.side * lifted(way.direction)
            self._seen[key] = Seen((variable.number,), seen, side)

    def _columns(
        self, ways: Mapping[Key, Way]
    ) -> tuple[dict[Key, list[Column]], dict[Key, list[FloatArray]]]:
        """The cuts of each quantity by all that is read of it, and where it is divided by."""
        columns: dict[Key, list[Column]] = {}
        poles: dict[Key, list[FloatArray]] = {}
        for key, way in ways.items():
            own = columns.setdefault(way.quantity, [])
            for value, kind in self._uses[key].cuts:
                turns = directions(way)
                own += [(way.back(value), one * turn) for one in SIDES[kind] for turn in turns]
            if way.pole is not None:
                own += [(way.pole, one) for one in (-1, 1)]
                poles.setdefault(way.quantity, []).append(way.pole)
        return columns, poles

    def _cut_joint(self, joint: Joint, quantity: Key | None) -> None:
        """A variable for the reading itself, held to what the shared quantity leaves open."""
        other = None if quantity is None else self._variables[quantity]
        values, side = joint.choices(quantity, other)
        key = joint.use.form.key
        made = self._variable(key, values, side)
        self._seen[key] = Seen((made.number,), values, side)
        if quantity is not None and other is not None:
            self.links.append(joint.link(quantity, other, made))

    def _linked_to(self, joint: Joint) -> Key | None:
        """The one of its quantities that something else reads too, where it is one.

        More than one, or one that occurs twice in the reading, cannot be held together here: then
        the reading is taken to move freely, which is a bound.
        """
        form = joint.use.form
        free = [one for one in form.quantities if one not in self._fixed]
        shared = [key for key in dict.fromkeys(free) if self._readers(key) > 1]
        twice = len(set(free)) < len(free)
        if twice or len(shared) > 1 or (shared and not joint.is_straight(shared[0])):
            self.loose.add(form.key)
            return None
        return shared[0] if shared else None

    # ---- small things

    def _is_shared(self, keys: Iterable[Key]) -> bool:
        return any(self._readers(key) > 1 for key in keys)

    def _readers(self, key: Key) -> int:
        return sum(key in use.form.quantities for use in self._uses.values())

    def _spans(self, form: Form) -> dict[Key, Span]:
        return {
            key: (self._fixed[key], self._fixed[key])
            if key in self._fixed
            else self._quantities.span(key)
            for key in form.quantities
        }

    def _variable(self, key: Key, values: FloatArray, side: Values) -> Variable:
        made = Variable(self.choice(values.shape[-1]), values, side)
        self._variables[key] = made
        return made

    def is_bent(self, number: int) -> bool:
        """Whether some reading divides by this variable's quantity."""
        return any(self._variables[key].number == number for key in self._bent)

    def values_of(self, number: int) -> FloatArray | None:
        """The choices of a quantity over the cells, rising in each; None of what is no quantity."""
        return next((v.values for v in self._quantities_made() if v.number == number), None)

    def _quantities_made(self) -> Iterator[Variable]:
        """The variables of quantities; those of readings of several do not rise."""
        free = {one for use in self._uses.values() for one in use.form.quantities}
        return (made for key, made in self._variables.items() if key in free)

    def readings_of(self, number: int) -> int:
        """How many different forms of reading follow this variable."""
        return sum(seen.over == (number,) for seen in self._seen.values())
