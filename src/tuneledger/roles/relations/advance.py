"""The two advances: they resemble each other and nothing else, and only one is a pure map.

Scheduled advance is a function of speed and load. Delivered departs from it by corrections, knock
and idle work, is at times flattened by a limit, and is reported no earlier than what was scheduled.
"""

from dataclasses import dataclass, field

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.roles import words
from tuneledger.roles.evidence import SOUGHT, Evidence
from tuneledger.roles.relations import surface
from tuneledger.roles.relations.common import alike, graded, likeliest
from tuneledger.roles.relations.rows import Rows

SCHEDULED, DELIVERED = "scheduled advance", "delivered advance"
_LOADS = (
    "manifold absolute pressure",
    "engine load",
    "throttle position",
    "accelerator position",
)
_MOST = 10
_NO_ADVANCE = -5.0
_MOST_PAIRS = 8
_MOST_LEAN = 9.0
_TWIN = 2.5
_LATE = 1.5
_FAR_BEHIND = 7.0
_CLOSE_DEG = 0.3
_LAGS = range(-4, 5)
_FEWEST_MOVING = 25
_SURFACE_ROWS = 3000


@dataclass(eq=False)
class Advances:
    """Channels that may be an advance, read in degrees, and the inputs that a map would have.

    lean:   log-odds of being the map rather than an outcome, as against those that are alike
    reason: what speaks for the calmest of them
    """

    rows: Rows
    degrees: dict[int, FloatArray]
    rpm: FloatArray | None
    loads: list[FloatArray]
    like_advance: dict[int, float] = field(default_factory=dict)
    lean: dict[int, float] = field(default_factory=dict)
    reason: dict[int, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Pair:
    """Two channels: share of rows in which they agree, correlation, rows by which `b` is late.

    late: whole rows, for laying one over the other; lag: to a quarter of a row
    """

    a: int
    b: int
    agree: float
    likeness: float
    late: int
    lag: float
    tolerance: float


def weigh(evidence: Evidence) -> Advances | None:
    """Add what the advances say of each other and of speed and load."""
    found = gather(evidence)
    if found is None:
        return None
    for i, degrees in found.degrees.items():
        _behaviour(evidence, found, i, degrees)
    pairs = _pairs(found)
    _company(evidence, found, pairs)
    _which_is_which(evidence, found, pairs)
    return found


def gather(evidence: Evidence) -> Advances | None:
    """The likeliest candidates, as far as their labels and values allow it."""
    columns = [SOUGHT.index(s) for s in (SCHEDULED, DELIVERED)]
    score = evidence.weights[:, columns].max(axis=1)
    able = [
        int(i)
        for i in np.argsort(-score)[: _MOST * 2]
        if _angle(evidence, int(i)) and evidence.judged[i, columns].max() > _NO_ADVANCE
    ][:_MOST]
    if not able:
        return None
    rows = Rows.around(evidence, able[0])
    rpm = likeliest(evidence, "engine speed")
    loads = [c for s in _LOADS if (c := likeliest(evidence, s, 0.4)) is not None]
    return Advances(
        rows,
        {i: rows.signal(i, DELIVERED) for i in able},
        None if rpm is None else rows.signal(rpm, "engine speed"),
        [rows.raw(c) for c in loads],
    )


def _angle(evidence: Evidence, channel: int) -> bool:
    unit = evidence.facts[channel].unit
    return unit is None or unit.kind in ("angle", "number")


def _behaviour(evidence: Evidence, found: Advances, i: int, degrees: FloatArray) -> None:
    """An advance hardly ever is exactly nothing, follows speed and load, and falls with load."""
    weight, says = 0.0, None
    own = np.isfinite(degrees)
    if own.sum() < 50 or evidence.facts[i].distinct <= 1:
        return
    idle_zero = float((np.abs(degrees[own]) < 1e-6).mean())
    if idle_zero > 0.15:
        weight -= 3.0
    if found.rpm is not None and found.loads:
        running = own & (found.rpm > 400)
        fits = [_slopes(found.rpm, load, degrees, running) for load in found.loads]
        explained, by_load = max(fits, key=lambda f: f[0])
        if explained < 0.15:
            weight -= 2.0
        elif by_load < -1.0 and explained > 0.35:
            weight += 2.0 * graded(explained, 0.35, 0.8)
            says = "it follows engine speed and falls as load rises, as an advance does"
        elif by_load > 1.0 and explained > 0.35:
            weight -= 1.5
    found.like_advance[i] = weight
    evidence.add(i, SCHEDULED, weight, says)
    # what is delivered may have been held, replaced or cut
    evidence.add(i, DELIVERED, weight if weight > 0 else weight / 2, says)


def _slopes(
    rpm: FloatArray, load: FloatArray, degrees: FloatArray, where: BoolArray
) -> tuple[float, float]:
    """(share explained by a plane over speed and load, degrees per usual change of load)."""
    rows = np.flatnonzero(where & np.isfinite(load) & np.isfinite(rpm))[::3]
    if rows.size < 50 or np.std(load[rows]) == 0:
        return 0.0, 0.0
    scaled = (load[rows] - load[rows].mean()) / load[rows].std()
    x = np.stack([np.ones(rows.size), np.log(rpm[rows]), rpm[rows] / 5000.0, scaled])
    y = degrees[rows]
    normal = np.array([[(one * other).sum() for other in x] for one in x])
    heights = np.linalg.solve(normal + 1e-9 * rows.size * np.eye(4), (x * y).sum(axis=1))
    variance = float(np.var(y))
    left = float(np.var(y - (x * heights[:, None]).sum(axis=0)))
    return (1.0 - left / variance if variance > 0 else 0.0), float(heights[3])


def _pairs(found: Advances) -> list[Pair]:
    channels = list(found.degrees)
    out = []
    for n, i in enumerate(channels):
        for k in channels[n + 1 :]:
            tolerance = max(_CLOSE_DEG, 1.01 * found.rows.step(i), 1.01 * found.rows.step(k))
            pair = _pair(i, k, found.degrees[i], found.degrees[k], min(tolerance, 1.5))
            if pair.likeness > 0.6 and pair.agree > 0.15:
                out.append(pair)
    return out


def _pair(i: int, k: int, one: FloatArray, other: FloatArray, tolerance: float) -> Pair:
    """How alike two channels are, and by how many rows the second is late.

    Turned round where one is the other's mirror: a sign that somebody logged the other way.
    """
    late = min(_LAGS, key=lambda lag: _apart(one, other, lag))
    gap = np.abs(_shift(other, late) - one)
    own = np.isfinite(gap)
    agree = float((gap[own] <= tolerance).mean()) if own.any() else 0.0
    lag = _fine_lag(one, other, late)
    return Pair(i, k, agree, alike(one, _shift(other, late)), late, lag, tolerance)


def _fine_lag(one: FloatArray, other: FloatArray, late: int) -> float:
    """By how many rows the second is late, to a quarter, judged where both move alike."""
    here, back, ahead = (_shift(other, late + n) for n in (0, -1, 1))
    gap = np.abs(here - one)
    moving = np.abs(np.gradient(one)) > 0.15
    rows = np.flatnonzero(moving & np.isfinite(here + back + ahead + one) & (gap < 4.0))
    if rows.size < _FEWEST_MOVING:
        return float(late)

    def off(part: float) -> float:
        beside = ahead if part >= 0 else back
        laid = (1 - abs(part)) * here[rows] + abs(part) * beside[rows]
        # the calmer part decides: corrections that come and go spoil some rows
        return float(np.sort(np.abs(laid - one[rows]))[: int(0.7 * rows.size)].mean())

    parts = (0.0, 0.25, -0.25, 0.5, -0.5, 0.75, -0.75)
    best = min(parts, key=off)
    return late + (best if off(best) < 0.9 * off(0.0) else 0.0)


def _shift(values: FloatArray, late: int) -> FloatArray:
    """Values `late` rows later, NaN at the open end."""
    out = np.full(values.shape, np.nan)
    if late >= 0:
        out[: values.size - late] = values[late:]
    else:
        out[-late:] = values[:late]
    return out


def _apart(one: FloatArray, other: FloatArray, late: int) -> float:
    gap = np.abs(_shift(other, late) - one)
    gap = gap[np.isfinite(gap)]
    return float(np.minimum(gap, 3.0).mean()) + 1e-4 * abs(late) if gap.size else np.inf


def _company(evidence: Evidence, found: Advances, pairs: list[Pair]) -> None:
    """Advances come in company: two channels that agree most of the time are both advances."""
    for i in found.degrees:
        mine = [p for p in pairs if i in (p.a, p.b)]
        # a pair of something else (a cam and its target) agrees just as well, but is no advance
        mine = [p for p in mine if found.like_advance.get(p.b if p.a == i else p.a, 0.0) > -1.0]
        if not mine or found.like_advance.get(i, 0.0) < -1.0:
            continue
        best = max(mine, key=lambda p: p.agree)
        partner = evidence.facts[best.b if best.a == i else best.a].channel.name
        says = f"it agrees with '{partner}' in {best.agree:.0%} of the run"
        weight = 2.0 * graded(best.agree, 0.15, 0.5)
        reading = evidence.readings.get((i, DELIVERED))
        if reading and reading.relabelled:
            # agreement in this reading only: what it cost to read against the label is repaid
            weight += -reading.cost
        for signal in (SCHEDULED, DELIVERED):
            evidence.add(i, signal, weight, says)


def _which_is_which(evidence: Evidence, found: Advances, pairs: list[Pair]) -> None:
    """The one that is a map as against all that resemble it; the others are outcomes."""
    columns = [SOUGHT.index(s) for s in (SCHEDULED, DELIVERED)]
    weights = {c: evidence.weights[c, columns].max() for c in found.degrees}
    least = max(weights.values()) - _FAR_BEHIND
    usable = [
        p
        for p in pairs
        if all(is_plain(evidence, found, c) and weights[c] > least for c in (p.a, p.b))
    ]
    leans: dict[tuple[int, int], tuple[float, str]] = {}
    for pair in sorted(usable, key=lambda p: -p.likeness)[:_MOST_PAIRS]:
        lean, says = _lean(found, pair)
        leans[pair.a, pair.b], leans[pair.b, pair.a] = (lean, says), (-lean, says)
    channels = {c for pair in leans for c in pair}
    if not channels:
        return
    against = {c: [leans[c, o] for o in channels if (c, o) in leans] for c in channels}
    calmest = max(channels, key=lambda c: sum(lean for lean, _ in against[c]))
    weakest = min(against[calmest], key=lambda part: part[0])
    for channel in channels:
        lean, says = weakest
        if channel != calmest:
            lean, says = leans.get((calmest, channel), weakest)
            lean = -lean
        found.lean[channel] = lean
        found.reason[channel] = says


def is_plain(evidence: Evidence, found: Advances, channel: int) -> bool:
    """Whether a channel may be one of the two: an advance, and not by its name one cylinder's."""
    like, name = found.like_advance.get(channel, 0.0), evidence.facts[channel].channel.name
    return like > -1.0 and words.says_twin(name) < _TWIN


def speak(evidence: Evidence, found: Advances) -> None:
    """Say once, with all that was found, which of the advances is scheduled and which delivered."""
    _twins(evidence, found)
    if not found.lean:
        return
    calmest = max(found.lean, key=lambda c: found.lean[c])
    name = evidence.facts[calmest].channel.name
    doubt = _no_map(found, calmest)
    for channel, lean in found.lean.items():
        weight = float(np.clip(lean, -_MOST_LEAN, _MOST_LEAN)) * (1.0 - doubt)
        says = found.reason.get(channel, "")
        if weight < 0 and channel != calmest:
            says = f"departs from '{name}', which {found.reason.get(calmest, says)}"
        evidence.add(channel, SCHEDULED, weight / 2, f"it {says}" if weight > 0 else None)
        evidence.add(channel, DELIVERED, -weight / 2, f"it {says}" if weight < 0 else None)


def _twins(evidence: Evidence, found: Advances) -> None:
    """What speaks for an advance speaks as much for one cylinder's advance, or a second bank's."""
    column = SOUGHT.index(DELIVERED)
    for i in found.degrees:
        name = evidence.facts[i].channel.name
        as_advance = evidence.weights[i, column] - evidence.named[i, column]
        named = float(evidence.named[i].max())
        # a name that says which of the two it is speaks against a twin, an unknown one says nothing
        by_name = named if named < 0 else -named / 2
        evidence.twin[i] = as_advance + words.says_twin(name) + by_name


def _no_map(found: Advances, channel: int) -> float:
    """Up to 1 where even the calmest of the advances is no function of speed and load.

    Then scheduled is not in the log, and the calmest is only one outcome among several.
    """
    if found.rpm is None or not found.loads:
        return 0.0
    return graded(min(_wander(found, channel, load) for load in found.loads), 1.2, 2.5)


def _wander(found: Advances, channel: int, load: FloatArray) -> float:
    """How far the channel strays from a function of speed and load, in its worst twentieth."""
    assert found.rpm is not None
    degrees = found.degrees[channel]
    usable = np.flatnonzero(np.isfinite(degrees + load + found.rpm) & (found.rpm > 300))
    if usable.size < 100:
        return 0.0
    usable = usable[:: max(1, usable.size // _SURFACE_ROWS)]
    drawn = surface.fit(surface.lay(found.rpm[usable], load[usable]), degrees[usable])
    off = np.abs(drawn.values - degrees[usable])[drawn.known]
    return float(np.quantile(off, 0.95)) if off.size > 50 else 0.0


def _lean(found: Advances, pair: Pair) -> tuple[float, str]:
    """Log-odds that the pair's first channel is the scheduled one, and what speaks for it."""
    one, other = found.degrees[pair.a], _shift(found.degrees[pair.b], pair.late)
    own = np.isfinite(one) & np.isfinite(other)
    agreed, alone = _by_surface(found, one, other, own, pair.tolerance)
    parts = [
        (float(np.clip(3.0 * pair.lag, -_LATE, _LATE)), "comes first"),
        (_by_steps(found, one, other, own, pair.tolerance), "stays calm where the two part"),
        (_by_cap(one, other, own, pair.tolerance), "goes on where the other stands at an end"),
        (agreed, "follows the map that both show where they agree"),
        (alone, "is nearer to a plain function of speed and load"),
    ]
    total = float(np.clip(sum(p[0] for p in parts), -7.0, 7.0))
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
