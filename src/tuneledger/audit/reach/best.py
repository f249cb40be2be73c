"""The best of all that can be delivered, over the choices that the effects share."""

from collections.abc import Callable, Sequence
from itertools import combinations

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.audit.reach.factors import (
    CELL_AXES,
    Assignment,
    Factor,
    Taken,
    Values,
    spread,
)
from tuneledger.audit.reach.terms import Term
from tuneledger.record import record


@record(eq=False)
class Cap:
    """An `at most` or `at least`: the degrees it cuts to (infinite where it does not act), over the
    choices that are shared, and the best of every choice that was taken out."""

    term: Term
    level: Factor
    taken: tuple[Taken, ...]


@record(eq=False)
class Replacement:
    """A `replace`: its degrees (infinite where it does not act), and where it can be silent."""

    term: Term
    level: Factor
    silent: Factor


@record(eq=False)
class Crossing:
    """axis: of the shared choices, along which the sum and a cap both move; values: those of its
    quantity, rising in each cell"""

    axis: int
    values: FloatArray


class Best:
    """The best of all choices of what is shared: of the account, and of every replacement."""

    def __init__(
        self,
        stands: FloatArray,
        caps: Sequence[Cap],
        replacements: Sequence[Replacement],
        over: tuple[int, ...],
        upwards: bool,
    ) -> None:
        self._stands, self._upwards = stands, upwards
        self._levels = [(spread(cap.level, over), cap.term.correction.effect) for cap in caps]
        self._replacements = replacements
        self._over = over
        self._worst = -np.inf if upwards else np.inf
        self._better: Callable[..., Values] = np.maximum if upwards else np.minimum
        self._candidates: list[FloatArray] = []

    def weigh(self, crossing: Crossing | None) -> None:
        """Every way in which something can be delivered, over the shared choices."""
        held = np.isfinite(self._stands)  # not where two readings of one quantity are at odds
        free = bool(held.all())
        later: Values = np.ones((1,) * (CELL_AXES + len(self._over)), dtype=np.bool_)
        ruled: list[FloatArray] = []
        for one in reversed(self._replacements):
            level = spread(one.level, self._over)
            rules = later & np.isfinite(level)
            ruled.append(np.where(rules if free else rules & held, level, self._worst))
            later = later & spread(one.silent, self._over)
        account = _held(self._stands, self._levels)
        if crossing is not None:
            account = self._better(account, self._crossed(crossing))
        possible = later if free else later & held
        if not possible.all():
            account = np.where(possible, account, self._worst)
        self._candidates = [account, *reversed(ruled)]

    def choose(self, shape: tuple[int, ...]) -> tuple[FloatArray, Assignment, Values]:
        """(degrees, choices of what is shared, which replacement rules or −1) in each cell."""
        size = tuple(
            max(n) for n in zip(*(c.shape[CELL_AXES:] for c in self._candidates), strict=True)
        )
        flat = []
        for candidate in self._candidates:
            whole = np.broadcast_to(candidate, (*candidate.shape[:CELL_AXES], *size))
            flat.append(
                np.broadcast_to(
                    whole.reshape(*whole.shape[:CELL_AXES], -1),
                    (*_cells(candidate), int(np.prod(size))),
                )
            )
        picked = [f.argmax(-1) if self._upwards else f.argmin(-1) for f in flat]
        values = [
            np.take_along_axis(f, p[..., None], -1)[..., 0]
            for f, p in zip(flat, picked, strict=True)
        ]
        stacked = np.stack([np.broadcast_to(v, shape) for v in values])
        which = stacked.argmax(0) if self._upwards else stacked.argmin(0)
        best = np.take_along_axis(stacked, which[None], 0)[0]
        indexes = np.stack([np.broadcast_to(p, shape) for p in picked])
        index = np.take_along_axis(indexes, which[None], 0)[0]
        choices = np.unravel_index(index, size) if size else ()
        return best, dict(zip(self._over, choices, strict=True)), which - 1

    def _crossed(self, crossing: Crossing) -> FloatArray:
        """The best between two neighbouring choices along an axis, where the sum and a cap, or two
        caps, cross; given to the first of the two."""
        axis = CELL_AXES + crossing.axis
        known = np.isfinite(crossing.values)
        beside = known[..., 1:] & known[..., :-1]  # a time that never began is beside no other
        sizes = [1] * len(self._over)
        sizes[crossing.axis] = beside.shape[-1]
        beside = beside.reshape(*beside.shape[:CELL_AXES], *sizes)
        shape = np.broadcast_shapes(self._stands.shape, *(v.shape for v, _ in self._levels))
        lines = [np.broadcast_to(v, shape) for v in (self._stands, *(v for v, _ in self._levels))]
        starts = [np.take(line, range(shape[axis] - 1), axis) for line in lines]
        ends = [np.take(line, range(1, shape[axis]), axis) for line in lines]
        out = np.full(shape, self._worst)
        inner = [slice(None)] * len(shape)
        inner[axis] = slice(0, shape[axis] - 1)
        for one, other in combinations(range(len(lines)), 2):
            with np.errstate(invalid="ignore", divide="ignore"):
                first = starts[one] - starts[other]
                share = first / (first - (ends[one] - ends[other]))
            inside = beside & np.isfinite(share) & (share > 0.0) & (share < 1.0)
            share = np.where(inside, share, 0.0)
            with np.errstate(invalid="ignore"):
                between = [
                    np.where(s == e, s, s + share * (e - s))
                    for s, e in zip(starts, ends, strict=True)
                ]
            met = _held(
                between[0], [(b, e) for b, (_, e) in zip(between[1:], self._levels, strict=True)]
            )
            out[tuple(inner)] = self._better(out[tuple(inner)], np.where(inside, met, self._worst))
        return out


def _cells(values: Values) -> tuple[int, ...]:
    return values.shape[:CELL_AXES]


def _held(stands: FloatArray, levels: Sequence[tuple[FloatArray, str]]) -> FloatArray:
    """What stands, held by caps and floors in their order."""
    for level, effect in _brought_together(levels):
        stands = np.minimum(stands, level) if effect == "at most" else np.maximum(stands, level)
    return stands


def _brought_together(levels: Sequence[tuple[FloatArray, str]]) -> list[tuple[FloatArray, str]]:
    """Neighbours of one effect over the same choices as one: what stands is far more than they."""
    out: list[tuple[FloatArray, str]] = []
    for level, effect in levels:
        if out and out[-1][1] == effect and out[-1][0].shape == level.shape:
            meets = np.minimum if effect == "at most" else np.maximum
            out[-1] = (meets(out[-1][0], level), effect)
        else:
            out.append((level, effect))
    return out
