"""Of two advances that run alike, which is scheduled? Five tests, each in log-odds."""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.roles.relations import surface
from tuneledger.roles.relations.advance import Advances
from tuneledger.roles.relations.common import graded
from tuneledger.roles.relations.pairs import Pair, shifted

_LATE = 1.5
_MOST = 7.0
_SURFACE_ROWS = 3000


def lean(found: Advances, pair: Pair) -> tuple[float, str]:
    """Log-odds that the pair's first channel is the scheduled one, and what speaks for it."""
    one, other = found.degrees[pair.a], shifted(found.degrees[pair.b], pair.late)
    own = np.isfinite(one) & np.isfinite(other)
    agreed, alone = _by_surface(found, one, other, own, pair.tolerance)
    parts = [
        (float(np.clip(3.0 * pair.lag, -_LATE, _LATE)), "comes first"),
        (_by_steps(found, one, other, own, pair.tolerance), "stays calm where the two part"),
        (_by_cap(one, other, own, pair.tolerance), "goes on where the other stands at an end"),
        (agreed, "follows the map that both show where they agree"),
        (alone, "is nearer to a plain function of speed and load"),
    ]
    total = float(np.clip(sum(p[0] for p in parts), -_MOST, _MOST))
    says = max(parts, key=lambda p: p[0] * np.sign(total))[1]
    return total, says


def _by_steps(
    found: Advances, one: FloatArray, other: FloatArray, own: BoolArray, tolerance: float
) -> float:
    """Where the two part or meet at once and speed and load are calm, delivered is who jumps."""
    apart = np.diff(other - one)
    moved_one, moved_other = np.abs(np.diff(one)), np.abs(np.diff(other))
    size = np.abs(apart)
    sudden = own[1:] & own[:-1] & (size > max(1.0, 2.5 * tolerance))
    for values in [] if found.rpm is None else [found.rpm, *found.loads]:
        span = float(np.nanpercentile(values, 95) - np.nanpercentile(values, 5))
        sudden &= ~(np.abs(np.diff(values)) > 0.015 * span)
    jumps_other = int((sudden & (moved_other > 0.7 * size) & (moved_one < 0.3 * size)).sum())
    jumps_one = int((sudden & (moved_one > 0.7 * size) & (moved_other < 0.3 * size)).sum())
    return float(np.clip(0.8 * np.log((jumps_other + 0.5) / (jumps_one + 0.5)), -2.5, 2.5))


def _by_cap(one: FloatArray, other: FloatArray, own: BoolArray, tolerance: float) -> float:
    """Where the two part because one stands at its highest or lowest, that one is delivered."""
    apart = own & (np.abs(other - one) > tolerance)
    if apart.sum() < 15:
        return 0.0

    def held(values: FloatArray, free: FloatArray) -> float:
        top, bottom = np.max(values[own]), np.min(values[own])
        at_end = (apart & (values >= top - 0.05) & (free > top)) | (
            apart & (values <= bottom + 0.05) & (free < bottom)
        )
        return float(at_end.sum() / apart.sum())

    return 4.0 * (graded(held(other, one), 0.1, 0.6) - graded(held(one, other), 0.1, 0.6))


def _by_surface(
    found: Advances, one: FloatArray, other: FloatArray, own: BoolArray, tolerance: float
) -> tuple[float, float]:
    """Two leans: by a map drawn where both agree, and by how well each alone is a map.

    The load is the one over which either of the two is the smoothest function.
    """
    if found.rpm is None or not found.loads:
        return 0.0, 0.0
    best: tuple[float, float, float] | None = None
    for load in found.loads:
        usable = np.flatnonzero(
            own & np.isfinite(load) & np.isfinite(found.rpm) & (found.rpm > 300)
        )
        if usable.size < 100:
            continue
        usable = usable[:: max(1, usable.size // _SURFACE_ROWS)]
        a, b = one[usable], other[usable]
        grid = surface.lay(found.rpm[usable], load[usable])
        off_a, off_b = (surface.misfit(surface.fit(grid, v), v) for v in (a, b))
        alone = float(np.clip(2.0 * np.log((off_b + 0.15) / (off_a + 0.15)), -3.5, 3.5))
        agreed = _agreed(grid, a, b, np.abs(a - b) <= tolerance)
        if best is None or min(off_a, off_b) < best[0]:
            best = (min(off_a, off_b), agreed, alone)
    return (0.0, 0.0) if best is None else best[1:]


def _agreed(grid: surface.Grid, a: FloatArray, b: FloatArray, agree: BoolArray) -> float:
    """Where the two part, who goes on following the map that both show where they agree?"""
    if agree.sum() < 60:
        return 0.0
    drawn = surface.fit(grid, a, agree)
    judged = ~agree & drawn.known
    if judged.sum() < 15:
        return 0.0
    off_a, off_b = (np.minimum(np.abs(drawn.values - v)[judged], 8.0).mean() for v in (a, b))
    floor = 0.15 + np.median(np.abs(drawn.values - a)[agree])
    return float(np.clip(2.5 * np.log((off_b + floor) / (off_a + floor)), -4.0, 4.0))


def wander(found: Advances, channel: int, enough: float) -> float:
    """How far a channel strays from any function of speed and load, in its worst twentieth.

    In degrees, with the load that it strays from least; once one is within `enough`, no other is
    asked. 0 where speed or load is not known.
    """
    if found.rpm is None or not found.loads:
        return 0.0
    least = np.inf
    for load in found.loads:
        least = min(least, _strays(found.rpm, load, found.degrees[channel]))
        if least <= enough:
            break
    return least


def _strays(rpm: FloatArray, load: FloatArray, degrees: FloatArray) -> float:
    usable = np.flatnonzero(np.isfinite(degrees + load + rpm) & (rpm > 300))
    if usable.size < 100:
        return 0.0
    usable = usable[:: max(1, usable.size // _SURFACE_ROWS)]
    drawn = surface.fit(surface.lay(rpm[usable], load[usable]), degrees[usable])
    off = np.abs(drawn.values - degrees[usable])[drawn.known]
    return float(np.quantile(off, 0.95)) if off.size > 50 else 0.0
