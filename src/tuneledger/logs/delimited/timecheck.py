"""From stamps to times that rise: what a clock may do, and what makes a log unusable."""

from collections.abc import Callable

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.errors import Fault
from tuneledger.record import record
from tuneledger.wording import count, number, seconds

FEWEST_SAMPLES = 2
_COUNTER_BITS = (16, 24, 32)
_STOPPED = 10.0
_SHARED_PAIRS = 200
_LEAP_S = 366 * 86400.0  # more from row to row is a damaged stamp or a clock set anew: judgement

Line = Callable[[int], str]


@record(eq=False)
class Times:
    """Seconds from the first sample, never falling, and what had to be said about them.

    first_s: the first sample's stamp, from whatever the stamps count from
    """

    times: FloatArray
    notes: tuple[str, ...]
    first_s: float = 0.0


def check_times(
    stamps: FloatArray,
    raw: FloatArray,
    *,
    wrap: float | None,
    line: Line,
    both: Callable[[IntArray], BoolArray],
) -> Times | Fault:
    """Judge the stamps of all samples.

    stamps: seconds from any origin, finite; raw: the same in the column's unit
    wrap:   seconds after which the clock begins anew without a date, or None
    line:   where a sample stands, as "row 12 (line 15 of the file)"
    both:   for rows, whether a row and the one before it hold a value of the same channel
    A Fault where time runs backwards, stands still, or leaps by more than a year.
    """
    stamps, notes = _unrolled(stamps, raw, wrap)
    steps = np.diff(stamps)
    back = np.flatnonzero(steps < -1e-9)
    if back.size:
        return _backwards(stamps, back, line)
    leaps = np.flatnonzero(steps > _LEAP_S)
    if leaps.size:
        return _leaping(stamps, leaps, line)
    if stamps.size > 1 and stamps[-1] <= stamps[0]:
        return Fault(
            "time stands still: every row has the same",
            expected="a time that rises from row to row",
            do="Log with the logger's clock running, or name another column as time.",
        )
    repeated = np.flatnonzero(steps <= 0) + 1
    if repeated.size:
        spread = _without_repeats(stamps, repeated, line, both)
        if isinstance(spread, Fault):
            return spread
        return Times(_from_zero(spread.times), (*notes, *spread.notes), float(stamps[0]))
    return Times(_from_zero(stamps), notes, float(stamps[0]))


def no_run(file: str, samples: int) -> Fault:
    """The refusal of a log with fewer than `FEWEST_SAMPLES`."""
    return Fault(
        f"it holds {count(samples, 'sample')}",
        file=file,
        expected="a run of samples",
        do="Log for longer, or copy the file from the logger again.",
    )


def without_time(rows: int) -> tuple[str, ...]:
    """What is said of so many rows that have no time; nothing of none."""
    verb = "is" if rows == 1 else "are"
    return (f"{count(rows, 'row')} without a time {verb} left out",) if rows else ()


def _from_zero(stamps: FloatArray) -> FloatArray:
    """Seconds from the first stamp, without the digits that a large number has no room for."""
    places = 9 if np.abs(stamps).max() < 1e6 else 6
    return np.asarray(np.round(stamps - stamps[0], places), dtype=np.float64)


def _unrolled(
    stamps: FloatArray, raw: FloatArray, wrap: float | None
) -> tuple[FloatArray, tuple[str, ...]]:
    """A clock that passes midnight, or a counter that is full, goes on instead of falling back."""
    steps = np.diff(stamps)
    falls = np.flatnonzero(steps < 0)
    if not falls.size:
        return stamps, ()
    usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.0
    spans = [(wrap, "midnight" if wrap > 4000 else "the full hour")] if wrap else []
    if not wrap and (raw == np.round(raw)).all() and (raw >= 0).all():
        scale = _scale(stamps, raw)
        spans += [(2.0**bits * scale, f"{bits} bits") for bits in _COUNTER_BITS]
    for span, name in spans:
        gone_on = steps[falls] + span
        if (gone_on >= 0).all() and (gone_on <= max(5.0 * usual, 1e-9)).all():
            turns = np.zeros(stamps.size)
            turns[falls + 1] = span
            note = f"the clock passes {name} {count(falls.size, 'time')}; time goes on there"
            return stamps + np.cumsum(turns), (note,)
    return stamps, ()


def _scale(stamps: FloatArray, raw: FloatArray) -> float:
    """Seconds per count."""
    i = int(np.argmax(raw))
    return float(stamps[i] / raw[i]) if raw[i] else 1.0


def _backwards(stamps: FloatArray, back: IntArray, line: Line) -> Fault:
    row = int(back[0]) + 1
    before, after = stamps[row - 1] - stamps[0], stamps[row] - stamps[0]
    times = "" if back.size == 1 else f" (and {count(back.size - 1, 'more time')})"
    if back.size > 0.9 * (stamps.size - 1):
        do = "Sort the file by time."
    else:
        do = "If another recording begins there, give it a file of its own; else sort by time."
    return Fault(
        f"time runs backwards{times}: {number(after, 8)} s follows {number(before, 8)} s",
        place=line(row),
        expected="a time that rises from row to row",
        do=do,
    )


def _leaping(stamps: FloatArray, leaps: IntArray, line: Line) -> Fault:
    row = int(leaps[0]) + 1
    before, after = stamps[row - 1] - stamps[0], stamps[row] - stamps[0]
    times = "" if leaps.size == 1 else f" (and {count(leaps.size - 1, 'more time')})"
    return Fault(
        f"time leaps by more than a year{times}: {number(after, 8)} s follows "
        f"{number(before, 8)} s",
        place=line(row),
        expected="a time that goes on from row to row",
        do="Take the damaged row out; where the clock was set there, use one part in a file of its "
        "own; where every row leaps, correct the unit of the time.",
    )


def _without_repeats(
    stamps: FloatArray, repeated: IntArray, line: Line, both: Callable[[IntArray], BoolArray]
) -> Times | Fault:
    """Rows that share a stamp: kept where they complete each other, else spread over the tick."""
    first = np.r_[0, np.flatnonzero(np.diff(stamps) > 0) + 1]
    rows = np.diff(np.r_[first, stamps.size])
    tick = np.diff(stamps[first])
    usual_rows, usual_tick = float(np.median(rows)), float(np.median(tick))
    row_s = usual_tick / usual_rows
    stopped = _stopped(rows, tick, usual_rows, row_s)
    if stopped is not None:
        return Fault(
            f"time stands still for {count(int(rows[stopped]), 'row')} at "
            f"{number(stamps[first[stopped]] - stamps[0], 8)} s",
            place=line(int(first[stopped])),
            expected="a time that rises from row to row",
            do="The logger's clock stopped there; use the part before, in a file of its own.",
        )
    looked = repeated[:: 1 + repeated.size // _SHARED_PAIRS]
    share = both(looked).mean()
    told = f"{count(repeated.size, 'row')} {'repeat' if repeated.size > 1 else 'repeats'} the time"
    if share < 0.5:
        note = f"{told} of the row before and complete it; they are samples of the same instant"
        return Times(stamps, (note,))
    pace = np.minimum(np.r_[tick, row_s * rows[-1]] / rows, 1.5 * row_s)
    within = np.arange(stamps.size) - np.repeat(first, rows)
    spread = stamps + within * np.repeat(pace, rows)
    place = f"first in {line(int(repeated[0]))}"
    note = (
        f"{told} of the row before ({place}); they are spread evenly up to the next time, "
        f"and may be off by up to {seconds(usual_tick)}"
    )
    return Times(spread, (note,))


def _stopped(rows: IntArray, tick: FloatArray, usual_rows: float, row_s: float) -> int | None:
    """The longest stay at one stamp, where it is no pause that the next stamp makes up for."""
    longest = int(rows.argmax())
    if rows[longest] <= _STOPPED * usual_rows:
        return None
    next_tick = tick[longest] if longest < tick.size else 0.0
    return longest if next_tick < 0.5 * rows[longest] * row_s else None
