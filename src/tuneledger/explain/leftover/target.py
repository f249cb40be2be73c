"""The target of an idle governor that nobody logged and that moves: warming up, or with a switch.

Seen for a second or two, a governor's work goes against engine speed, whatever its target: what
it posts says how far the target lies from the speed. So each moment at idle tells where the target
was, and those of a few seconds together tell it in spite of noise. A target is slow: one that had
to move as often as the spark does is none.
"""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.explain.expected import Objection
from tuneledger.explain.leftover.model import SUSPECTED
from tuneledger.explain.model import Need
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import true_runs
from tuneledger.record import record

IDLE_AT_MOST_RPM = 1600.0  # as in `hunting`
# Rows are looked at so long at a time, and count with the speed this close to its middle.
_BLOCK_S, _LEAST_BLOCK_S, _LEAST_BLOCK_ROWS, _AROUND_RPM = 1.5, 0.5, 8, 120.0
_LEAST_BLOCKS = 3
# In so much of the time that the speed moves at all, the spark has to go clearly against it: not
# in all, for the target may step.
_LEAST_CORRELATION, _LEAST_AGAINST = 0.6, 0.6
# Of what is posted at most, so much tells the target: beyond it the governor is at its end.
_INNER = 0.7
_SMOOTH_S = 1.5
# A line with a bend more often than this is no slow course; a step is two bends.
_FREE_BENDS, _BETWEEN_S = 4, 2.0
# The engine follows a target where it is nearer to it than half of the target's span, in three
# quarters of the stretches; without that nobody is surer. Judgement.
_FOLLOWED, _MOSTLY = 0.5, 0.75
_MOST_SURE = 0.9
# Of the tolerance: what a target that only the spark tells may leave over.
_TOLD_WITHIN = 1.5


@record(eq=False)
class Target:
    """A target that moves.

    values: rpm per row; between idles as the line between them
    knots: points of the broken line that it is
    followed: whether the engine's own speed goes where the target goes
    """

    values: FloatArray
    knots: int
    followed: bool

    @property
    def span(self) -> tuple[float, float]:
        """Lowest and highest, rpm."""
        return float(self.values.min()), float(self.values.max())


def moving_target(book: Book, speed: FloatArray, left: FloatArray) -> Target | None:
    """The target that makes a governor of what is left over; None where it goes against engine
    speed nowhere, or too few seconds of idle show it."""
    idle = book.regimes.closed & np.isfinite(left) & (speed < IDLE_AT_MOST_RPM)
    blocks = _blocks(book, speed, idle)
    if len(blocks) < _LEAST_BLOCKS:
        return None
    gain = _gain(speed, left, blocks)
    if gain is None:
        return None
    most = _INNER * float(np.quantile(np.abs(left[idle]), 0.98))
    told = np.flatnonzero(idle & (np.abs(left) <= max(most, 2.0 * book.tolerance)))
    if told.size < _LEAST_BLOCK_ROWS:
        return None
    times = book.times[told]
    course = _smoothed(times, speed[told] + left[told] / gain)
    knots = _bends(times, course, book.tolerance / gain)
    lasts = sum(rows.size for rows in blocks) * book.row_s
    if knots.size > _FREE_BENDS + lasts / _BETWEEN_S:
        return None
    values = np.interp(book.times, times[knots], course[knots])
    return Target(values, int(knots.size), _followed(speed, values, blocks))


def _blocks(book: Book, speed: FloatArray, idle: BoolArray) -> list[IntArray]:
    """Rows of idle, a few seconds at a time, without those in which the engine comes down to it."""
    out = []
    for first, last in true_runs(idle):
        count = max(1, round((book.times[last] - book.times[first]) / _BLOCK_S))
        for rows in np.array_split(np.arange(first, last + 1), count):
            near = rows[np.abs(speed[rows] - np.median(speed[rows])) <= _AROUND_RPM]
            if near.size >= max(_LEAST_BLOCK_ROWS, _LEAST_BLOCK_S / max(book.row_s, 1e-9)):
                out.append(near)
    return out


def _gain(speed: FloatArray, left: FloatArray, blocks: list[IntArray]) -> float | None:
    """Degrees per rpm against engine speed, within blocks alone; None where it does not go so."""
    told, seen, against, spread = 0, 0, 0.0, 0.0
    for rows in blocks:
        faster, earlier = speed[rows] - speed[rows].mean(), left[rows] - left[rows].mean()
        size = float(np.sqrt((faster @ faster) * (earlier @ earlier)))
        if size <= 0:
            continue
        seen += rows.size
        if -float(faster @ earlier) >= _LEAST_CORRELATION * size:
            told += rows.size
            against, spread = against - float(faster @ earlier), spread + float(faster @ faster)
    return against / spread if told and told >= _LEAST_AGAINST * seen else None


def _smoothed(times: FloatArray, values: FloatArray) -> FloatArray:
    """The median over a few seconds around each row: a step stays one."""
    first = np.searchsorted(times, times - _SMOOTH_S)
    after = np.searchsorted(times, times + _SMOOTH_S, side="right")
    middles = [np.median(values[a:b]) for a, b in zip(first, after, strict=True)]
    return np.array(middles, dtype=np.float64)


def _bends(times: FloatArray, values: FloatArray, within: float) -> IntArray:
    """Few points whose broken line stays within so much: Douglas and Peucker's method."""
    kept, open_ = {0, times.size - 1}, [(0, times.size - 1)]
    while open_:
        a, b = open_.pop()
        if b - a < 2:
            continue
        line = np.interp(times[a : b + 1], times[[a, b]], values[[a, b]])
        far = np.abs(values[a : b + 1] - line)
        worst = a + int(np.argmax(far))
        if far[worst - a] > within:
            kept.add(worst)
            open_ += [(a, worst), (worst, b)]
    return np.array(sorted(kept))


def _followed(speed: FloatArray, target: FloatArray, blocks: list[IntArray]) -> bool:
    """Whether the engine mostly runs where the target is: closer than the target moves by half."""
    aims = np.array([np.median(target[rows]) for rows in blocks])
    runs = np.array([np.median(speed[rows]) for rows in blocks])
    return bool(np.quantile(np.abs(runs - aims), _MOSTLY) <= _FOLLOWED * np.ptp(aims))


def most_sure(moving: Target | None) -> float:
    """A target that was made to fit is less sure than one that stays; most of all where the engine
    does not go where it goes: then anything may have moved the spark so slowly."""
    return 1.0 if moving is None else _MOST_SURE if moving.followed else SUSPECTED


def leeway(
    moving: Target | None, active: BoolArray, tolerance: float
) -> tuple[FloatArray, FloatArray] | None:
    """What may be left over because a target that moves is only told by the spark itself, within
    the tolerance, and between the moments that tell it by a line."""
    if moving is None:
        return None
    either = np.where(active, _TOLD_WITHIN * tolerance, 0.0)
    return either, either


def doubt(moving: Target | None) -> Objection | None:
    """What speaks against a governor whose target is not logged and would have moved; None where
    nothing does."""
    if moving is None or moving.followed:
        return None
    why = "its target, which is not logged, would have moved and the engine not with it"
    return Objection(why, "Log idle speed target on the next run.")


def needs(moving: Target | None) -> tuple[Need, ...]:
    """What to log to settle that doubt; empty where there is none."""
    if moving is None or moving.followed:
        return ()
    return (
        Need(
            "idle speed target",
            "spark goes against engine speed at idle as a governor's does, but about a target that "
            "would have moved without the engine",
        ),
    )
