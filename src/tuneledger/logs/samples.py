"""Which rows of a channel hold samples of its own, whatever a logger wrote between them.

A channel slower than its file is left empty between its samples, repeated, or joined by straight
lines. Only at its own samples does it say what was; the rest is the logger's. Its pace need not be
a whole number of rows: 30 samples a second in a file of 200 come 6 or 7 rows apart.
"""

from enum import StrEnum

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.logs.raster import held_raster
from tuneledger.record import record

# Fewer bends or changes than this show no pace; so many of them may lie off it.
_FEWEST, _ON_PACE, _BY_CHANCE = 20, 0.95, 1e-6
# The least pace in rows: one that is a whole number of them, within so much, and any other.
_LEAST, _LEAST_BROKEN, _WHOLE = 3.0, 4.0, 0.05
# A bend is seen from so many rows on either side; from further away also those that rounding
# hides, if they are so many last decimals large. Where more rows bend than this, they all do.
_REACHES, _PLAIN, _BUSY = (1, 3, 8), 8.0, 0.7
# From so many rows to a sample on, a channel is slower than its file.
_THIN = 1.5
# At least so many samples must be bends, and so large a share of them: a steady swing bends evenly.
_FEWEST_BENDS, _BENDS, _ODD = 50, 0.02, 0.1
_MOST_DECIMALS, _LOOKED_AT = 6, 2000


class Between(StrEnum):
    """What stands between the samples of a channel."""

    NOTHING = "nothing"  # every row is a sample, but for a few that lack
    EMPTY = "empty"
    HELD = "held"
    JOINED = "joined"


@record(eq=False)
class Samples:
    """The own samples of a channel on the rows of its group.

    own:     rows that hold one
    every:   rows from one to the next, usually; 1.0 where every row is one
    between: what stands between two of them
    exact:   the own rows are the samples themselves; False where a logger's straight lines bend
             between two rows, so that no row is quite one
    """

    own: BoolArray
    every: float
    between: Between
    exact: bool = True

    @property
    def sparse(self) -> bool:
        """The file has more rows than the channel has samples."""
        return self.between is not Between.NOTHING


def find_samples(values: FloatArray) -> Samples:
    """The own samples of a channel. values: one per row of its group, NaN where there is none."""
    finite = np.isfinite(values)
    whole = bool(finite.all())
    rows = None if whole else np.flatnonzero(finite)
    series = values if rows is None else values[rows]
    found = (_repeated(series) or _joined(series)) if series.size else None
    apart = 1.0 if rows is None else _usual_gap(rows)
    if found is None:
        between = Between.EMPTY if apart >= _THIN else Between.NOTHING
        return Samples(finite, apart if between is Between.EMPTY else 1.0, between)
    inner, pace, between, exact = found
    own = np.zeros(values.shape, dtype=np.bool_)
    own[inner if rows is None else rows[inner]] = True
    return Samples(own, pace * apart, between, exact)


def _usual_gap(rows: IntArray) -> float:
    """Rows from one sample to the next, on average, but for holes."""
    gaps = np.diff(rows)
    return float(gaps[gaps <= 2.0 * np.median(gaps)].mean()) if gaps.size else 1.0


def at_samples(values: FloatArray, own: BoolArray) -> FloatArray:
    """The own samples joined by straight lines; NaN before the first, after the last, and across
    holes far longer than their pace."""
    rows = np.flatnonzero(own)
    if rows.size in (0, values.size):
        return values
    every_row = np.arange(values.size)
    joined = np.interp(every_row, rows, values[rows], left=np.nan, right=np.nan)
    left, right = neighbours(own)
    longest = 3.0 * float(np.median(np.diff(rows))) if rows.size > 1 else 1.0
    joined[(rows[right] - rows[left]) > longest] = np.nan
    joined[rows] = values[rows]
    return joined


def neighbours(own: BoolArray) -> tuple[IntArray, IntArray]:
    """For each row the own sample at or before it and the one at or after it, as indices into the
    own samples; the first or last where there is none."""
    upto = np.cumsum(own)
    left = np.maximum(upto - 1, 0)
    right = np.minimum(np.where(own, upto - 1, upto), upto[-1] - 1)
    return left, right


_Found = tuple[IntArray, float, Between, bool]


def _repeated(series: FloatArray) -> _Found | None:
    """Samples that are repeated until the next one comes."""
    raster = held_raster(series)
    if raster.every > 1:
        rows = np.arange(raster.phase, series.size, raster.every)
        return rows, float(raster.every), Between.HELD, True
    changes = np.flatnonzero(np.diff(series) != 0) + 1
    paced = _paced(changes, series.size)
    return None if paced is None else (*paced, Between.HELD, True)


def _joined(series: FloatArray) -> _Found | None:
    """Samples that are joined by straight lines, which bend at them and nowhere else."""
    moved = np.flatnonzero(np.diff(series))  # what stands still may show no decimals
    if moved.size < _FEWEST_BENDS:
        return None
    # Unevenly spread: the rows of an even spread may all be samples, which have fewer decimals.
    unit = _last_decimal(series[moved[np.arange(_LOOKED_AT) ** 2 % moved.size]])
    if unit is None:
        return None
    for reach in _REACHES:
        if 2 * reach >= series.size:
            return None
        bend = np.abs(series[2 * reach :] - 2.0 * series[reach:-reach] + series[: -2 * reach])
        # Rounding to the last decimal bends a straight line by two of them at most.
        bent = np.flatnonzero(bend > (2.0 if reach == 1 else _PLAIN) * unit + 1e-9) + reach
        if reach == 1 and bent.size > _BUSY * series.size:
            return None
        if bent.size < _FEWEST_BENDS:
            continue
        breaks = np.flatnonzero(np.diff(bent) > 1) + 1
        first, after = np.r_[0, breaks], np.r_[breaks, bent.size]
        if np.mean(after - first <= 2 * reach) < _ON_PACE:
            if reach == 1:  # it bends in rows that follow each other: no straight lines
                return None
            continue
        bends = _sharpest(bend[bent - reach], bent, first, after)
        found = _paced(bends, series.size)
        if found is not None and bends.size >= _BENDS * found[0].size:
            rows, pace, exact = _at_bends(*found, bends, series.size)
            if _crooked(series, rows, pace, 2.0 * unit + 1e-9) <= _ODD * bends.size:
                return rows, pace, Between.JOINED, exact
    return None


def _sharpest(bend: FloatArray, bent: IntArray, first: IntArray, after: IntArray) -> IntArray:
    """The row at which each stretch of bent rows bends most, between those that do alike."""
    most = np.repeat(np.maximum.reduceat(bend, first), after - first)
    alike = bend >= most - 1e-9
    total = np.add.reduceat(np.where(alike, bent, 0), first)
    return np.asarray(total // np.add.reduceat(alike.astype(np.int64), first), dtype=np.int64)


def _at_bends(
    rows: IntArray, pace: float, bends: IntArray, size: int
) -> tuple[IntArray, float, bool]:
    """The samples at whole rows where the pace is a whole number of them."""
    whole = round(pace)
    if abs(pace - whole) > _WHOLE:
        return rows, pace, False
    phase = int(np.bincount(bends % whole, minlength=whole).argmax())
    return np.arange(phase, size, whole), float(whole), True


def _crooked(series: FloatArray, rows: IntArray, pace: float, most: float) -> int:
    """How often it bends by more than that between two samples, looked at in two places.

    A steady swing bends evenly as well, but then everywhere.
    """
    third = max(1.0, pace / 3.0 - 0.7)
    reach, out = int(third), 0
    for share in (1.0 / 3.0, 2.0 / 3.0):
        at = np.round(rows[:-1] + share * pace).astype(np.int64)
        at = at[(at >= reach) & (at < series.size - reach)]
        out += int(
            np.sum(np.abs(series[at + reach] - 2.0 * series[at] + series[at - reach]) > most)
        )
    return out


def _paced(events: IntArray, rows: int) -> tuple[IntArray, float] | None:
    """The rows of a steady pace on which all events lie, and the pace in rows; None without one.

    Between two events that are several paces apart the rows are spread evenly.
    """
    if events.size < _FEWEST:
        return None
    gaps = np.diff(events)
    least = float(np.quantile(gaps, 0.05))
    if least < _LEAST:
        return None
    pace = float(np.mean(gaps[gaps <= least + 1.0]))
    for few in (3.0, 10.0):  # the further apart, the closer they tell the pace
        near = gaps[gaps < few * pace]
        pace = float(near.sum() / np.round(near / pace).sum())
    whole = round(pace)
    if abs(pace - whole) > _WHOLE and pace < _LEAST_BROKEN:
        return None
    paces = np.round(gaps / pace)
    near_ones = paces <= 4.0
    may = max(1.0, pace / 6.0)
    on = np.abs(gaps - pace * paces)[near_ones] < may
    chance = min(0.9, 2.0 * may / pace)
    if on.size == 0 or on.mean() < _ON_PACE or chance**on.size > _BY_CHANCE:
        return None
    counts = np.maximum(paces, 1.0).astype(np.int64)
    turn = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    between = np.repeat(events[:-1], counts)
    between += np.round(turn * np.repeat(gaps / counts, counts)).astype(np.int64)
    before = np.arange(events[0] - pace, -0.5, -pace)[::-1].round().astype(np.int64)
    after = np.arange(events[-1], rows - 0.5, pace).round().astype(np.int64)
    return np.concatenate([before, between, after]), pace


def _last_decimal(values: FloatArray) -> float | None:
    """The last decimal in which the values are written; None where they go on beyond six."""
    size = float(np.abs(values).max(initial=1.0))
    for places in range(_MOST_DECIMALS + 1):
        scaled = values * 10.0**places
        if np.abs(scaled - np.round(scaled)).max(initial=0.0) <= 1e-9 * size * 10.0**places + 1e-9:
            return float(10.0**-places)
    return None
