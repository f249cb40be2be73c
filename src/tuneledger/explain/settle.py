"""Doubt at a threshold is settled by what delivered shows, stretch by stretch.

A correction is first taken as the log's numbers have it. Where these lie too close to a threshold
to tell, it is taken to be on or off as delivered shows, but only as far as the doubt reaches: a
stretch that as a whole lies beyond the threshold is on, whatever delivered shows. A doubt never
excuses anything: what is left over once it is settled is left over.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.calibrations.model import Limits
from tuneledger.evaluate.model import Contribution
from tuneledger.explain.otherwise import Otherwise
from tuneledger.explain.summed import Summed
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import merged, true_runs
from tuneledger.record import record

_DIFFERS_DEG = 0.05  # half of the finest usual step of a logged advance, 0.1°
# Delivered decides between on and off over this long at a time: sooner would follow its noise.
_DECIDE_S, _DECIDE_ROWS = 1.0, 5
_RIGHT_SHARE = 0.9  # of the rows that decide: judgement
# A less simple way has to settle so much more of a stretch.
_MARGIN = 0.01
# How far the share of time that a chattering correction was on may lie from what the log has.
_CHATTER_APART = 0.2
_CHATTER_SHARE = 0.1  # of the rows: more jumps are no switching that an ECU does, judgement
_CAP = 12.0  # nats a row, as in `cost`
_Array = TypeVar("_Array", FloatArray, BoolArray)


@record(eq=False)
class Settled:
    """A part whose doubts are settled.

    open_: rows in which the log alone could not tell; on: rows of those in which delivered shows
    that it acted
    """

    part: Contribution
    open_: BoolArray
    on: BoolArray

    def within(self, rows: BoolArray) -> "Settled":
        """The same, of these rows alone."""
        return replace(self, open_=self.open_ & rows, on=self.on & rows)


def settle(
    book: Book,
    start: FloatArray,
    parts: Sequence[Contribution],
    limits: Limits | None,
    doubts: Sequence[tuple[int, Otherwise]],
) -> tuple[list[Contribution], dict[str, Settled]]:
    """The parts with every doubt settled, and what was settled, by correction.

    doubts: index into `parts` → the bounds of that part
    """
    if not doubts:
        return list(parts), {}
    now = list(parts)
    settled: dict[str, Settled] = {}
    summed = Summed(book, start, parts, limits, [index for index, _ in doubts])
    for index, bounds in doubts:
        found = _settle_one(book, summed, now[index], index, bounds)
        if found is not None:
            now[index] = found.part
            summed.put(index, found.part)
            settled[found.part.correction] = found
    return now, settled


@record(eq=False)
class _Ways:
    """What is left of delivered, per row, with a part carried out in each of its ways."""

    logged: FloatArray
    least: FloatArray
    most: FloatArray
    least_wide: FloatArray
    most_wide: FloatArray


def _settle_one(
    book: Book, summed: Summed, part: Contribution, index: int, bounds: Otherwise
) -> Settled | None:
    five = (part, bounds.least, bounds.most, bounds.least_wide, bounds.most_wide)
    unlike = np.flatnonzero(np.any([_unlike(part, one) for one in five[1:]], axis=0))
    if not unlike.size:
        return None
    # A row is carried out by itself, so that where the part is the same, so is what is left.
    logged = summed.now()
    in_turn = (summed.otherwise(index, one, unlike) for one in five[1:])
    ways = _Ways(logged, *(_put(logged, unlike, left) for left in in_turn))
    others = (ways.least, ways.most, ways.least_wide, ways.most_wide)
    differs = np.any([_apart(ways.logged, one) for one in others], axis=0)
    if not differs.any():
        return None
    open_, against = _apart(ways.most, ways.least), _apart(ways.most, ways.logged)
    less = open_ & _fits_better(book, ways.least, ways.most)
    left = np.where(less, ways.least, ways.most)
    choice = np.zeros(part.values.shape, dtype=np.int64)  # index into `five`
    for first, last in merged(true_runs(differs), book.times, book.row_s):
        rows = np.arange(first, last + 1)
        rows = rows[differs[rows]]
        calm = np.where(less[rows], 1, 2)
        choice[rows] = _way(book, ways, left, rows, calm)
        if _steady(ways, rows):  # the log's own numbers and the calm ones say different things
            open_[rows] |= against[rows]
    now = np.choose(choice, (ways.logged, *others))
    return Settled(_mixed(five, choice), open_, open_ & _apart(now, ways.least_wide))


def _apart(one: FloatArray, other: FloatArray) -> BoolArray:
    """Rows in which both are known and differ."""
    return np.asarray(np.abs(one - other) > _DIFFERS_DEG)


def _unlike(one: Contribution, other: Contribution) -> BoolArray:
    """Rows in which two readings of a part are not the same."""
    same = (one.values == other.values) | (np.isnan(one.values) & np.isnan(other.values))
    same &= (one.active == other.active) & (one.computable == other.computable)
    return np.asarray(~same | (one.weight != other.weight) | (_known(one) != _known(other)))


def _put(values: _Array, rows: IntArray, other: _Array) -> _Array:
    """The values, with others in some of the rows."""
    out = values.copy()
    out[rows] = other
    return out


def _way(
    book: Book, ways: _Ways, left: FloatArray, rows: IntArray, calm: IntArray
) -> IntArray | int:
    """For the rows of one stretch: as logged (0), as the calm reading has it, or, where it
    chatters, row by row as delivered shows (3 or 4)."""
    bound = book.tolerance + book.slack[rows]
    logged, settled = _right(ways.logged[rows], bound), _right(left[rows], bound)
    nearer = np.where(np.abs(ways.least_wide[rows]) <= np.abs(ways.most_wide[rows]), 3, 4)
    either = np.fmin(np.abs(ways.least_wide[rows]), np.abs(ways.most_wide[rows]))
    may_chatter = _hidden(ways, rows) or _on_as_often(ways, rows)
    chatter = _right(either, bound) if may_chatter else 0.0
    if chatter >= _RIGHT_SHARE and chatter > max(logged, settled) + _MARGIN:
        return nearer.astype(np.int64)
    as_logged = logged >= _RIGHT_SHARE or _steady(ways, rows)
    return 0 if as_logged and logged >= settled - _MARGIN else calm


def _steady(ways: _Ways, rows: IntArray) -> bool:
    """Whether the log's own numbers leave it on or off, and do not switch it to and fro."""
    jumps = np.abs(np.diff(np.nan_to_num((ways.logged - ways.most_wide)[rows]))) > _DIFFERS_DEG
    return bool(jumps.mean() <= _CHATTER_SHARE) if jumps.size else True


def _hidden(ways: _Ways, rows: IntArray) -> bool:
    """Whether the rounding hides on which side the number stands all through the stretch."""
    return bool(np.mean(_apart(ways.most[rows], ways.least[rows])) >= _RIGHT_SHARE)


def _right(left: FloatArray, bound: FloatArray) -> float:
    known = np.isfinite(left)
    return float((np.abs(left) <= bound)[known].mean()) if known.any() else 1.0


def _on_as_often(ways: _Ways, rows: IntArray) -> bool:
    """Whether delivered shows it on for about as large a share of the stretch as the log has it."""
    least, span = ways.least_wide[rows], (ways.least_wide - ways.most_wide)[rows]
    wide = np.isfinite(span) & (np.abs(span) > _DIFFERS_DEG)
    if not wide.any():
        return False
    shown = float(np.mean(least[wide] / span[wide]))
    given = float(np.mean((least - ways.logged[rows])[wide] / span[wide]))
    return abs(shown - given) <= _CHATTER_APART


def _fits_better(book: Book, one: FloatArray, other: FloatArray) -> BoolArray:
    """Rows around which one way leaves less than the other does."""
    rows = max(_DECIDE_ROWS, round(_DECIDE_S / book.row_s)) if book.row_s > 0 else _DECIDE_ROWS
    gain = _cost(book, other) - _cost(book, one)
    size = min(rows | 1, gain.size)
    return np.asarray(np.convolve(gain, np.ones(size), mode="same")[: gain.size] >= 0)


def _cost(book: Book, left: FloatArray) -> FloatArray:
    beyond = np.abs(np.nan_to_num(left)) / book.tolerance
    return np.minimum(0.5 * beyond**2, _CAP)


def _mixed(five: Sequence[Contribution], choice: IntArray) -> Contribution:
    """One part that in each row is the one chosen there."""
    out = five[0]
    for number, one in enumerate(five[1:], start=1):
        rows = np.flatnonzero(choice == number)
        if rows.size:
            out = replace(
                out,
                values=_put(out.values, rows, one.values[rows]),
                active=_put(out.active, rows, one.active[rows]),
                computable=_put(out.computable, rows, one.computable[rows]),
                weight=_put(out.weight, rows, one.weight[rows]),
                known=_put(_known(out), rows, _known(one)[rows]),
            )
    return out


def _known(part: Contribution) -> BoolArray:
    return part.computable if part.known is None else part.known
