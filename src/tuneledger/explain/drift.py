"""What is left over drifts, as what an unseen temperature makes a table post.

A temperature that was not logged, or whose channel stands still, cannot be computed with. But it
moves slowly, and the table that reads it posts between its own numbers: where all that is left over
stays between them and never moves faster than a temperature makes the table move, that correction
accounts for it. What a switch or a threshold does, steps.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Axis, Correction, readings
from tuneledger.ledger.book import Book
from tuneledger.record import record
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

# °C per second, at most: fluids and their sensors lag; air behind a turbocharger is faster.
# Judgement, checked on made drives.
_FASTEST = {
    "engine coolant temperature": 1.0,
    "oil temperature": 1.0,
    "fuel temperature": 1.0,
    "intake air temperature": 4.0,
}
# The course is the middle of what is left over, second by second.
_BIN_S, _FEWEST_BINS = 1.0, 20
_FITS, _MOVES_TOLERANCES = 0.95, 3.0
_ROOM = 1.0


@record(eq=False)
class Drift:
    """What the corrections that read one unseen temperature may have posted.

    values: degrees per row, 0 outside `rows`; fits: the share of the rows in which nothing else is
    left over; moves: how far the course goes to and fro in all, degrees
    """

    rows: BoolArray
    values: FloatArray
    fits: float
    moves: float


def reads_slow(correction: Correction) -> str | None:
    """The temperature along which a correction's table adds degrees; None where it does not post
    by one alone, or where its conditions read that too."""
    if correction.effect != "add" or correction.ramp is not None or not correction.has_numbers:
        return None
    if len(correction.axes) != 1:
        return None
    axis = correction.axes[0]
    plain = axis.signal in _FASTEST and not (axis.minus or axis.over or axis.rate)
    known = [one for one in readings(correction) if one is not axis and one.signal == axis.signal]
    return axis.signal if plain and not known else None


def drift(
    book: Book,
    left: FloatArray,
    slack: FloatArray,
    rows: BoolArray,
    corrections: Sequence[Correction],
) -> Drift | None:
    """The course of what is left over in the rows in which the corrections act; None where it does
    not drift as what they read would make it.

    left: degrees per row without these corrections (NaN: not judged)
    slack: degrees per row that edges and lag may leave besides the tolerance
    """
    here = rows & np.isfinite(left)
    if not here.any():
        return None
    at, middle = _middles(book, left, here)
    low = sum(float(np.nanmin(c.grid)) for c in corrections)
    high = sum(float(np.nanmax(c.grid)) for c in corrections)
    if at.size < _FEWEST_BINS or not np.isfinite([low, high]).all():
        return None
    bound = book.tolerance
    inside = (middle >= low - bound) & (middle <= high + bound)
    fastest = sum(_steepest(c.axes[0], c.grid) for c in corrections)
    steps = np.abs(np.diff(middle))
    # A step over a gap of seconds had as many seconds to be made.
    slow = steps <= _ROOM * 2.0 * bound + fastest * np.diff(at)
    if inside.mean() < _FITS or not slow.all():
        return None
    first, last = np.percentile(middle, [5.0, 95.0])
    if last - first < _MOVES_TOLERANCES * bound:
        return None
    values = np.clip(np.interp(book.times, at, middle), min(low, high), max(low, high))
    fits = float((np.abs(left - values)[here] <= (bound + slack)[here]).mean())
    if fits < _FITS:
        return None
    moves = float(np.clip(steps - bound, 0.0, None).sum()) + float(last - first)
    return Drift(here, np.where(here, values, 0.0), fits, moves)


def _middles(book: Book, left: FloatArray, rows: BoolArray) -> tuple[FloatArray, FloatArray]:
    """The median of what is left over in each second: (its middle in time, degrees)."""
    times, values = book.times[rows], left[rows]
    bins = np.floor((times - times[0]) / _BIN_S).astype(np.int64)
    starts = np.flatnonzero(np.diff(bins, prepend=-1))
    parts = [part for part in np.split(np.arange(times.size), starts[1:]) if part.size]
    at = np.array([times[part].mean() for part in parts])
    return at, np.array([np.median(values[part]) for part in parts])


def _steepest(axis: Axis, grid: FloatArray) -> float:
    """The most degrees that a table can move in a second, as its temperature may."""
    signal = axis.signal or ""
    turned = conversion(axis.unit, SIGNALS[signal].unit) if axis.unit else (1.0, 0.0)
    per_unit = turned[0] if turned is not None else 1.0
    if axis.points.size < 2:
        return 0.0
    slopes = np.abs(np.diff(grid)) / (np.diff(axis.points) * per_unit)
    return float(np.nanmax(slopes)) * _FASTEST[signal]
