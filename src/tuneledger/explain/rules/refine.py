"""Where exactly a threshold lies: between the last row that rests and the first that acts."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, each_once
from tuneledger.explain.rules.pattern import Pattern
from tuneledger.explain.rules.terms import SHORTEST_S, Term

# Places tried in each round of narrowing.
_PARTS = 6


def refined(terms: Sequence[Term], pattern: Pattern) -> tuple[Term, ...]:
    """The terms with each threshold where it puts fewest rows on the wrong side.

    Each is placed among the rows that the others leave to it, and at the roundest number of the
    stretch that does equally well: people choose round numbers.
    """
    current = list(terms)
    for _ in range(2 if len(current) > 1 else 1):
        for i, term in enumerate(current):
            if term.side == 0 or term.release is not None:
                continue
            others = [t.holds for k, t in enumerate(current) if k != i]
            open_rows = np.logical_and.reduce(others) if others else None
            current[i] = replace(term, limit=_placed(term, pattern, open_rows))
    return tuple(current)


def with_release(terms: Sequence[Term], which: int, pattern: Pattern) -> tuple[Term, ...] | None:
    """The terms with hysteresis on one of them, as its number was where the rule started and
    stopped; None where start and stop do not lie apart, or nothing is seen of either."""
    term = terms[which]
    starts, stops = pattern.starts, pattern.stops
    if term.side == 0 or term.timer is not None or min(starts[0].size, stops[0].size) == 0:
        return None
    number = term.side * term.number
    on = _open_end(number[starts[0]], number[starts[1]])
    off = _open_end(number[stops[1]], number[stops[0]])
    if not np.isfinite(on + off).all() or on.mean() - off.mean() <= 2.0 * term.column.resolved:
        return None
    limit = roundest(*sorted((term.side * on).tolist()))
    tried = [
        roundest(*sorted((term.side * (middle - grain), term.side * (middle + grain))))
        for middle, grain in _parts(off)
    ]
    held = [replace(term, limit=limit, release=release) for release in dict.fromkeys(tried)]
    wrong = []
    for one in held:
        holds = one.holds
        wrong.append(int((~holds[pattern.acts]).sum() + holds[pattern.rests].sum()))
    best = held[int(np.argmin(wrong))]
    if any(_narrower_than_held(best, other) for i, other in enumerate(terms) if i != which):
        return None
    return tuple(best if i == which else t for i, t in enumerate(terms))


def _narrower_than_held(held: Term, other: Term) -> bool:
    """Whether a condition from the other side leaves less of the channel to start in than the
    hysteresis is wide: the two would contradict each other most of the time."""
    if other.column is not held.column or other.timer is not None or other.side != -held.side:
        return False
    assert held.release is not None
    return held.side * (other.limit - held.limit) < abs(held.limit - held.release)


def _open_end(under: FloatArray, over: FloatArray) -> FloatArray:
    """The stretch in which a threshold lies that is passed between these numbers, mostly."""
    low, high = float(np.nanmedian(under)), float(np.nanmedian(over))
    inner = float(np.nanmax(under[under <= high], initial=low))
    outer = float(np.nanmin(over[over >= low], initial=high))
    return np.array(sorted((inner, outer) if inner < outer else (low, high)))


def _parts(stretch: FloatArray) -> list[tuple[float, float]]:
    """The whole of a stretch, then its parts: the middle and half the width of each."""
    low, high = stretch
    grain = 0.5 * (high - low) / _PARTS
    places = low + grain * (2.0 * np.arange(_PARTS) + 1.0)
    return [(0.5 * (low + high), 0.5 * (high - low)), *((float(x), grain) for x in places)]


def _placed(term: Term, pattern: Pattern, open_rows: BoolArray | None) -> float:
    number = term.side * term.number
    known = np.isfinite(number) if open_rows is None else np.isfinite(number) & open_rows
    inside, outside = number[pattern.acts & known], number[pattern.rests & known]
    if inside.size == 0:
        return term.limit
    low, high = _stretch(inside, outside)
    low, high = _narrowed(low, high, number[pattern.first & known], number[pattern.last & known])
    if term.timer is not None and term.side > 0:
        low = max(low, SHORTEST_S)
        if low >= high:
            return term.limit
    ends = sorted((term.side * low, term.side * high))
    # Above is strict: the highest number that rests may itself be the threshold.
    return roundest(ends[0], ends[1], term.side * low)


def _stretch(inside: FloatArray, outside: FloatArray) -> tuple[float, float]:
    """The widest stretch of thresholds t with fewest rows wrong: inside ≤ t, or outside > t."""
    least, most = float(inside.min()), float(inside.max())
    if outside.size:
        least, most = min(least, float(outside.min())), max(most, float(outside.max()))
    # Below everything is a threshold too.
    margin = 0.05 * ((most - least) or abs(least) or 1.0)
    inside, outside = _overlap(inside, outside)
    at = each_once(np.concatenate((inside, outside)))
    wrong = np.searchsorted(inside, at, side="right") + (
        outside.size - np.searchsorted(outside, at, side="right")
    )
    starts = np.concatenate(([at[0] - margin], at))
    wrong = np.concatenate(([outside.size], wrong))
    ends = np.concatenate((at, [at[-1] + margin]))
    good = np.flatnonzero(wrong == wrong.min())
    widest = good[int(np.argmax(ends[good] - starts[good]))]
    return float(starts[widest]), float(ends[widest])


def _overlap(inside: FloatArray, outside: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Both sorted, as far as they overlap, and the next one of each beyond: nothing further away
    can be a threshold that does as well."""
    if not outside.size:
        return np.sort(inside), outside
    lowest, highest = inside.min(), outside.max()
    above, below = inside[inside > highest], outside[outside < lowest]
    return (
        np.append(np.sort(inside[inside <= highest]), above.min() if above.size else []),
        np.append(below.max() if below.size else [], np.sort(outside[outside >= lowest])),
    )


def _narrowed(low: float, high: float, first: FloatArray, last: FloatArray) -> tuple[float, float]:
    """The part of a stretch that the rows beside the edges speak for, if they do.

    At each edge the threshold lies between the last row on one side and the first on the other,
    give or take the lag: what most edges agree on is taken, and nothing where they do not.
    """
    inside = first[(first > low) & (first < high)]
    outside = last[(last > low) & (last < high)]
    if inside.size + outside.size == 0:
        return low, high
    at = np.unique(np.concatenate(([low], inside, outside, [high])))
    wrong = np.array([(inside <= t).sum() + (outside > t).sum() for t in at[:-1]])
    if wrong.min() > 0.34 * (inside.size + outside.size):
        return low, high
    good = np.flatnonzero(wrong == wrong.min())
    widest = good[int(np.argmax(at[good + 1] - at[good]))]
    return float(at[widest]), float(at[widest + 1])


def roundest(low: float, high: float, allowed: float | None = None) -> float:
    """The roundest number between low and high, nearest to the middle; the middle where none is.

    allowed: the end that is itself allowed, if any
    """
    width = high - low
    middle = 0.5 * (low + high)
    if width <= 0 or not math.isfinite(width):
        return middle
    exponent = math.floor(math.log10(width)) + 1
    for power in range(exponent, exponent - 3, -1):
        for step in (5.0, 2.0, 1.0):
            grain = step * 10.0**power
            candidate = round(middle / grain) * grain
            inside = low < candidate < high
            if inside or (allowed is not None and abs(candidate - allowed) < 1e-9 * grain):
                return float(round(candidate, max(0, 2 - power)))
    return middle
