"""A delivered advance that the ECU lets move by no more than so many degrees a second.

Such a limit acts on the sum of all that is asked for. Where delivered moves as fast as it may, it
is on its way, and says no more of what was asked for than that it lies further on. Anywhere else it
has arrived, and what it says counts.
"""

from collections.abc import Iterable

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.ledger.lag import Lag, shifted
from tuneledger.record import record

_MOST_ROWS = 20_000
# Over so long a move is measured, so that rounding and the raster of the log matter little.
_STRETCH_S = 0.1
# The steepest moves are equally steep, within so much: so many of them at the least, and so many
# times as many as go beyond. A few do, as where the engine stops.
_ALIKE, _FEWEST, _TIMES, _FEW_BEYOND = 0.02, 6, 5, (0, 3, 10, 30)
# Up and down are one number where they lie so near.
_SAME = 0.05
# What is asked for leaves it behind by so much beyond rounding, in so many rows, so many times.
_BEHIND_DEG, _LEAST_BEHIND, _LEAST_TIMES = 0.5, 8, 3
# Where what is asked for outruns the limit, delivered moves just as fast as it may, in this share
# of the rows. The other way, once one is shown, needs more; less where it is as fast.
_KEPT, _JUST_SO, _AS_FAST = 0.8, 0.9, 0.7
# What is faster lets all through within a tenth of a second or so: nobody would see it.
_FASTEST = 100.0
_LATEST_S = 0.4
# From this share of the limit on, delivered moves as fast as it may; moves of a channel in steps
# are seen over so many of them.
_AT_IT, _STEPS = 0.9, 3.0
# Where it may move so far from one row to the next, a row may lie on a way that fills neither.
_COARSE_DEG = 1.0


@record
class RateLimit:
    """Degrees per second by which delivered may rise and fall at most; infinite where it jumps."""

    up: float
    down: float

    def of(self, values: FloatArray, row_s: float) -> FloatArray:
        """What follows these values so, evenly spaced by `row_s`; NaN where they are."""
        known = np.isfinite(values)
        rise, fall = self.up * row_s, self.down * row_s
        numbers = values[known].tolist()
        at = numbers[0] if numbers else 0.0
        for i, value in enumerate(numbers):
            numbers[i] = at = min(max(value, at - fall), at + rise)
        out = np.full(values.shape, np.nan)
        out[known] = numbers
        return out

    def on_its_way(self, delivered: FloatArray, row_s: float, step: float) -> FloatArray:
        """1 in rows to or from which it rises as fast as it may, −1 where it falls so, else 0.

        step: its quantisation step, 0 where there is none
        """
        out = np.zeros(delivered.shape)
        for sign, most in ((1.0, self.up), (-1.0, self.down)):
            if not np.isfinite(most):
                continue
            rows = max(1, int(np.ceil(_STEPS * step / (most * row_s))))
            whole = most * row_s * rows
            moves = sign * (delivered[rows:] - delivered[:-rows])
            fast = np.flatnonzero(moves >= max(_AT_IT * whole, whole - 1.01 * step))
            for after in range(rows + 1):
                out[fast + after] = sign
            if most * row_s >= _COARSE_DEG:  # it may set out and arrive between two samples
                around = sign * (delivered[2:] - delivered[:-2])
                out[1 + np.flatnonzero(around >= _AT_IT * most * row_s)] = sign
        return out


def find_rate_limit(
    delivered: FloatArray, asked: Iterable[FloatArray], lag: Lag, step: float, row_s: float
) -> RateLimit | None:
    """How fast delivered may move, where the log shows plainly that there is a limit; else None.

    asked: what delivered may follow, on the same evenly spaced rows; read only where delivered
           looks limited, one after the other until one of them shows it
    lag:   of delivered before it was taken out
    step:  the coarser quantisation of the two, 0 where there is none
    """
    rows = max(1, round(_STRETCH_S / row_s)) if row_s > 0 else 0
    if not 0 < rows < delivered.size:
        return None
    over_s = rows * row_s
    values = delivered[:_MOST_ROWS]
    given = (values[rows:] - values[:-rows]) / over_s
    grain = step / over_s
    rise, fall = _steepest(given, grain), _steepest(-given, grain)
    if rise is None and fall is None:
        return None
    if rise and fall and abs(rise - fall) <= _SAME * max(rise, fall):
        rise = fall = 0.5 * (rise + fall)
    limit = RateLimit(rise or np.inf, fall or np.inf)
    for whole in asked:
        goal = whole[:_MOST_ROWS]
        if not _outruns(goal, limit, rows, row_s):
            continue
        up, down = _kept(limit, values, goal, lag, step, row_s)
        if up or down:
            return RateLimit(limit.up if up else np.inf, limit.down if down else np.inf)
    return None


def _steepest(given: FloatArray, grain: float) -> float | None:
    """The slope that many moves have and next to none goes beyond."""
    rises = np.sort(given[given > grain])[::-1]
    for beyond in _FEW_BEYOND:
        if rises.size < beyond + _FEWEST:
            return None
        most = float(rises[beyond + _FEWEST // 2])
        spread = _ALIKE * most + grain
        alike = rises[np.abs(rises - most) <= spread]
        further = int((rises > most + spread).sum())
        if alike.size >= max(_FEWEST, _TIMES * further):
            return float(alike.mean()) if most <= _FASTEST else None
    return None


def _outruns(goal: FloatArray, limit: RateLimit, rows: int, row_s: float) -> bool:
    """Whether what is asked for moves faster than that at several times: a look that costs next to
    nothing."""
    slope = (goal[rows:] - goal[:-rows]) / (rows * row_s)
    for fast in (slope > limit.up, -slope > limit.down):
        if int((fast[1:] & ~fast[:-1]).sum()) + int(fast[:1].sum()) >= _LEAST_TIMES:
            return True
    return False


def _kept(
    limit: RateLimit, given: FloatArray, goal: FloatArray, lag: Lag, step: float, row_s: float
) -> tuple[bool, bool]:
    """Whether delivered moves as fast as it may where it should be on its way: up, and down."""
    follows = limit.of(goal, row_s)
    due = limit.on_its_way(follows, row_s, step)
    moves = limit.on_its_way(given, row_s, step)
    behind = np.abs(goal - follows) > _BEHIND_DEG + 2.0 * step
    latest = 1 if lag.sure else int(_LATEST_S / row_s)
    then = [shifted(moves, float(at)) for at in range(-1, latest + 1)]
    up, down = (max(_share(one, due, way) for one in then) for way in (1.0, -1.0))
    # It is shown by what was left behind; the other way, once one is known, by its moves alone.
    shown = (
        up >= _KEPT and _left(due, behind, 1.0),
        down >= _KEPT and _left(due, behind, -1.0),
    )
    least = _AS_FAST if limit.up == limit.down else _JUST_SO
    beside = any(shown)
    return shown[0] or (beside and up >= least), shown[1] or (beside and down >= least)


def _share(moves: FloatArray, due: FloatArray, way: float) -> float:
    """The share of rows due on one way in which it is on it; 0 where there are few."""
    rows: BoolArray = (due == way) & np.isfinite(moves)
    return float((moves[rows] == way).mean()) if rows.sum() >= _FEWEST else 0.0


def _left(due: FloatArray, behind: BoolArray, way: float) -> bool:
    """Whether what is asked for left it behind often enough, and at several times."""
    rows = (due == way) & behind
    times = int((rows[1:] & ~rows[:-1]).sum())
    return bool(rows.sum() >= _LEAST_BEHIND) and times >= _LEAST_TIMES
