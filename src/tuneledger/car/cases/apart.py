"""What else a log would allow: rules that say the same on it as the hidden one.

Whoever reads a rule out of a log can only be asked for it where nothing of the same length says
the same there and something else on the next drive. Tried are: a threshold on another channel in
the place of each condition, each condition left out, each threshold as far off as the log leaves
open, and a curve along another channel, or along its own no further than the log reaches.
"""

from collections.abc import Iterator
from typing import Any

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.car.cases.following import from_the_log
from tuneledger.car.dress import SPARK, Column
from tuneledger.car.drive import Run
from tuneledger.car.logger import Logged, sampled
from tuneledger.record import record
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

RMS, WITHIN, SHARE = 0.5, 0.3, 0.95  # by which a reported rule counts as right
WRONG = 0.005  # a rule says the same where no more than this share of the samples differ
_KNOTS = 24

Correction = dict[str, Any]


@record(eq=False)
class Seen:
    """A drive and what a logger made of it."""

    run: Run
    logged: Logged

    def numbers(self, column: Column) -> FloatArray:
        return sampled(self.run, column, self.logged.dress, self.logged.rows)

    def said(self, corrections: list[Correction]) -> list[FloatArray]:
        """What corrections post by themselves, carried out on nothing but the log's numbers."""
        sheet = {"revision": "-", "spark": {"map": {"amount": 0.0}, "correction": corrections}}
        entries = from_the_log(sheet, self.run, self.logged)
        return [np.nan_to_num(entries[one["id"]]) for one in corrections]


@record(eq=False)
class Rival:
    """Another rule that this log allows, and whether it is right on the other drive too."""

    says: str
    channel: str
    right: bool


def right(off: FloatArray) -> bool:
    """Whether a rule that is off by so much counts as right."""
    rms, share = float(np.sqrt(np.mean(off**2))), float(np.mean(np.abs(off) <= WITHIN))
    return rms <= RMS or share >= SHARE


def rivals(
    correction: Correction, here: Seen, there: Seen, hidden: FloatArray, step: float
) -> list[Rival]:
    """Every rival that was found.

    hidden: what the correction posts on the other drive; step: of the logged advance, degrees
    """
    found = list(_beside_conditions(correction, here, there, hidden))
    if "axes" in correction:
        found += _beside_curve(correction, here, there, hidden, step)
    return found


def _beside_conditions(
    correction: Correction, here: Seen, there: Seen, hidden: FloatArray
) -> Iterator[Rival]:
    when = correction.get("when", [])
    single = [
        {"id": f"c{i}", "title": "", "reason": "other", "enabled": True, "amount": 1.0, "when": [c]}
        for i, c in enumerate(when)
    ]
    if not single:
        return
    states, others = ([x > 0.5 for x in seen.said(single)] for seen in (here, there))
    bare = [_without_conditions(correction, seen) for seen in (here, there)]
    for i, condition in enumerate(when):
        rest, rest_there = _all_but(states, i), _all_but(others, i)
        on = states[i]
        if len(when) > 1 and np.mean(rest & ~on) <= WRONG:
            said = np.where(rest_there, bare[1], 0.0)
            name = _column(condition, here)
            yield Rival("one condition fewer", name.name if name else "", right(said - hidden))
        own = _column(condition, here)
        for column in _others(here, {own}):
            stump = best_threshold(here.numbers(column)[rest], on[rest], WRONG / rest.mean())
            if stump is not None:
                held = (there.numbers(column) > stump[0]) == stump[1]
                said = np.where(rest_there & held, bare[1], 0.0)
                yield Rival("a threshold on another channel", column.name, right(said - hidden))
        yield from _elsewhere(correction, i, (here, there), own, on, rest, hidden)


def _without_conditions(correction: Correction, seen: Seen) -> FloatArray:
    """The amount or the curve in every sample, whatever the conditions say."""
    return seen.said([{k: v for k, v in correction.items() if k not in ("when", "ramp")}])[0]


def _all_but(states: list[BoolArray], which: int) -> BoolArray:
    out = np.ones(states[0].shape, dtype=np.bool_)
    for i, state in enumerate(states):
        if i != which:
            out &= state
    return out


def _elsewhere(
    correction: Correction,
    which: int,
    seen: tuple[Seen, Seen],
    own: Column | None,
    on: BoolArray,
    rest: BoolArray,
    hidden: FloatArray,
) -> Iterator[Rival]:
    """The threshold at either end of what the log leaves open."""
    condition = correction["when"][which]
    word = next((w for w in ("above", "below") if w in condition and "since" not in condition), "")
    if not word or own is None or {"held", "linger", "release"} & {*condition}:
        return
    sign = 1.0 if word == "above" else -1.0
    unit = condition.get("unit") or own.unit
    scale, offset = conversion(own.unit, unit) or (1.0, 0.0)
    number = sign * (scale * seen[0].numbers(own) + offset)
    inside, outside = number[rest & on], number[rest & ~on]
    if inside.size == 0 or outside.size == 0:
        return
    low, high = float(outside.max()), float(inside.min())
    for end in (low, np.nextafter(high, -np.inf)) if low < high else ():
        moved = [*correction["when"]]
        moved[which] = condition | {word: sign * end}
        said = seen[1].said([correction | {"when": moved}])[0]
        yield Rival("the threshold elsewhere", own.name, right(said - hidden))


def _beside_curve(
    correction: Correction, here: Seen, there: Seen, hidden: FloatArray, step: float
) -> Iterator[Rival]:
    """Curves along every channel, its own among them, as far as this log reaches."""
    own = _column(correction["axes"][0], here)
    if len(correction["axes"]) > 1 or own is None:
        return
    value = here.said([correction])[0]
    acts, acts_there = np.abs(value) > 0, np.abs(hidden) > 0
    with_conditions = bool(correction.get("when"))
    rows = acts if with_conditions else np.ones(acts.shape, dtype=np.bool_)
    for column in (own, *_others(here, {own})):
        number = here.numbers(column)[rows]
        at = np.unique(np.quantile(number, np.linspace(0, 1, _KNOTS)))
        if at.size < 2:
            continue
        deg = _fitted(at, number, value[rows])
        off = np.interp(number, at, deg) - value[rows]
        tolerance = max(0.3, step)
        if column is not own and not (
            np.sqrt(np.mean(off**2)) <= tolerance / 2 and np.mean(np.abs(off) > tolerance) <= 0.02
        ):
            continue
        said = np.interp(there.numbers(column), at, deg)
        said = np.where(acts_there, said, 0.0) if with_conditions else said
        what = "no further than the log" if column is own else "a curve along another channel"
        yield Rival(what, column.name, right(said - hidden))


def _fitted(at: FloatArray, number: FloatArray, value: FloatArray) -> FloatArray:
    """Degrees at the points by least squares."""
    hats = np.column_stack([np.interp(number, at, row) for row in np.eye(at.size)])
    solved = np.linalg.lstsq(hats, value, rcond=None)[0]
    return np.asarray(solved, dtype=np.float64)


def _others(seen: Seen, own: set[Column | None]) -> Iterator[Column]:
    for column in seen.logged.columns:
        if column.key != "time" and column.key not in SPARK and column not in own:
            yield column


def _column(reading: Correction, seen: Seen) -> Column | None:
    """The logged column that a condition or an axis reads."""
    reading = reading.get("since", reading)
    name = str(reading.get("signal", reading.get("channel")))
    by_key = name in SIGNALS
    return next((c for c in seen.logged.columns if name == (c.key if by_key else c.name)), None)


def best_threshold(
    values: FloatArray, acts: BoolArray, wrong: float = WRONG
) -> tuple[float, bool] | None:
    """A threshold with at most that share of samples on the wrong side, and whether above acts."""
    on, off = values[acts], values[~acts]
    if on.size == 0 or off.size == 0:
        return None
    for above in (True, False):
        a, b = (on, off) if above else (-on, -off)
        cut = (np.quantile(a, 0.01) + np.quantile(b, 0.99)) / 2
        if np.mean(np.concatenate([a <= cut, b > cut])) <= wrong:
            return float(cut if above else -cut), above
    return None
