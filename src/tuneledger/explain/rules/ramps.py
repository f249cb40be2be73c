"""Degrees that come and go at a steady rate: how fast, and when the rule behind them turned.

With a ramp the degrees arrive after the rule has turned on, and are still there after it has turned
off. On the way up or down the rate tells both: the side to which they move is what the rule says,
and the line through them meets where they came from at the moment at which it turned.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.rules.pattern import Pattern
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import true_runs
from tuneledger.record import record

# The part of the way that counts as being on it, and how many rows it takes to see one.
_FROM, _TO = 0.15, 0.85
# A shorter climb is an edge that the logger smoothed: judgement.
_LEAST_ROWS = 5
_LEAST_S = 0.15
# Rows this close to a turn may be on either side of it: so many of them, and as far as the line
# through the way leaves open, but no further than that many seconds.
_BESIDE_ROWS, _OPEN, _BESIDE_S = 1.5, 3.0, 0.12
# Rates up and down this close are one.
_SAME = 0.3
Rates = tuple[float, float]


@record
class Way:
    """One stretch on the way.

    first, last: its first and its last row
    rate:     share of the level per second, positive towards it
    turned_s: the moment at which the rule behind it turned, and by how many seconds that may be
    unsure_s: off
    """

    first: int
    last: int
    rate: float
    turned_s: float
    unsure_s: float


def ways(book: Book, left: FloatArray, level: float) -> list[Way]:
    """Every stretch in which the degrees are steadily on their way to the level or from it."""
    if abs(level) < 3 * book.tolerance or book.row_s <= 0:
        return []
    rows = np.flatnonzero(np.isfinite(left))
    share, times = left[rows] / level, book.times[rows]
    out = []
    for first, last in true_runs((share > _FROM) & (share < _TO)):
        if last - first + 1 < _LEAST_ROWS or times[last] - times[first] < _LEAST_S:
            continue
        here, when = share[first : last + 1], times[first : last + 1]
        slope, start = np.polyfit(when - when[0], here, 1)
        off = float(np.sqrt(np.mean((here - start - slope * (when - when[0])) ** 2)))
        if slope == 0 or off > max(0.1, 0.7 * book.tolerance / abs(level)):
            continue
        come_from = 0.0 if slope > 0 else 1.0
        turned = when[0] + (come_from - start) / slope
        if times[0] <= turned <= when[0] + book.row_s:
            open_s = _OPEN * off / (abs(slope) * float(np.sqrt(here.size)))
            unsure = min(_BESIDE_ROWS * book.row_s + open_s, max(_BESIDE_S, 2 * book.row_s))
            out.append(Way(int(rows[first]), int(rows[last]), float(slope), float(turned), unsure))
    return out


def rates(book: Book, left: FloatArray, level: float) -> Rates | None:
    """Degrees per second downwards and upwards, or None where nothing is seen on the way.

    A direction in which nothing is seen on the way is as fast as the log can show.
    """
    seen = ways(book, left, level)
    to, back = ([abs(level * w.rate) for w in seen if (w.rate > 0) is way] for way in (True, False))
    if not to and not back:
        return None
    fast = 2.0 * abs(level) / book.row_s
    towards = float(np.median(to)) if to else fast
    away = float(np.median(back)) if back else fast
    if to and back and abs(towards - away) <= _SAME * max(towards, away):
        towards = away = float(np.median(to + back))
    return (towards, away) if level < 0 else (away, towards)


def unramped(book: Book, left: FloatArray, level: float) -> Iterator[Pattern]:
    """The pattern of the rule itself, as it turned and not as its degrees followed."""
    seen = ways(book, left, level)
    if not seen:
        return
    judged = np.isfinite(left)
    share = np.where(judged, left / level, np.nan)
    acts: BoolArray = judged & (share >= _TO)
    rests: BoolArray = judged & (share <= _FROM)
    unclear = judged & ~acts & ~rests
    for way in seen:
        rows = (book.times >= way.turned_s) & (book.times <= book.times[way.last])
        acts[rows], rests[rows], unclear[rows] = way.rate > 0, way.rate < 0, False
    first, last = np.zeros_like(acts), np.zeros_like(acts)
    for way in seen:
        near = judged & (np.abs(book.times - way.turned_s) <= way.unsure_s)
        on = (book.times >= way.turned_s) == (way.rate > 0)
        unclear |= near
        first |= near & on
        last |= near & ~on
    acts &= judged & ~unclear
    rests &= judged & ~unclear
    if acts.any() and rests.any():
        yield Pattern(acts, rests, level, first, last)
