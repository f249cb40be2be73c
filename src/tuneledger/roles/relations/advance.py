"""The two advances: they resemble each other and nothing else, and only one is a pure map.

Scheduled advance is a function of speed and load. Delivered departs from it by corrections, knock
and idle work, is at times flattened by a limit, and is reported no earlier than what was scheduled.
"""

from collections import Counter
from dataclasses import dataclass, field

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.roles.evidence import SOUGHT, Evidence
from tuneledger.roles.relations.common import graded, likeliest, stand_in
from tuneledger.roles.relations.pairs import Pair, find_pairs
from tuneledger.roles.relations.rows import Rows
from tuneledger.sidebyside import side_by_side

SCHEDULED, DELIVERED = "scheduled advance", "delivered advance"
_LOADS = (
    "manifold absolute pressure",
    "engine load",
    "throttle position",
    "accelerator position",
)
_MOST = 10
_NO_ADVANCE = -5.0
_FAR_BEHIND = 9.0
_SLOPE_ROWS = 1500


@dataclass(eq=False)
class Advances:
    """Channels that may be an advance, read in degrees, and the inputs that a map would have.

    series: those whose names differ by a number only: cylinders, banks
    like_advance: log-odds of behaving like an advance
    lean:   log-odds of being the map rather than an outcome, as against those that are alike
    reason: what speaks for the calmest of them
    """

    rows: Rows
    degrees: dict[int, FloatArray]
    rpm: FloatArray | None
    loads: list[FloatArray]
    series: frozenset[int] = frozenset()
    like_advance: dict[int, float] = field(default_factory=dict)
    pairs: list[Pair] = field(default_factory=list)
    lean: dict[int, float] = field(default_factory=dict)
    reason: dict[int, str] = field(default_factory=dict)


def weigh(evidence: Evidence) -> Advances | None:
    """Add what the advances say of each other and of speed and load."""
    found = gather(evidence)
    if found is None:
        return None
    for i, degrees in found.degrees.items():
        _behaviour(evidence, found, i, degrees)
    steps = {i: found.rows.step(i) for i in found.degrees}
    found.pairs.extend(find_pairs(found.degrees, steps))
    _company(evidence, found)
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
    able = [i for i in able if score[i] > score[able[0]] - _FAR_BEHIND]
    if not able:
        return None
    rows = Rows.around(evidence, able[0])
    rpm = stand_in(evidence, "engine speed")
    loads = [c for s in _LOADS if (c := likeliest(evidence, s, 0.4)) is not None]
    needed = dict.fromkeys([*able, *loads] if rpm is None else [*able, rpm[0], *loads])
    side_by_side(evidence.log.values, [evidence.facts[i].channel for i in needed])
    return Advances(
        rows,
        {i: rows.signal(i, DELIVERED) for i in able},
        None if rpm is None else rows.signal(*rpm),
        [rows.raw(c) for c in loads],
        _series(evidence, able),
    )


def _series(evidence: Evidence, able: list[int]) -> frozenset[int]:
    """Advances whose names differ by a number only, or by none, as no other channels' names do.

    None where there is nothing else that might be the advance itself.
    """
    names = {i: evidence.facts[i].channel.name.casefold() for i in able}
    stems = {i: stem for i, name in names.items() if (stem := name.rstrip("0123456789")) != name}
    own = Counter(stems.values())
    every = Counter(f.channel.name.casefold().rstrip("0123456789") for f in evidence.facts)
    found = {
        i
        for i, stem in stems.items()
        if stem and every[stem] == own[stem] + (stem in names.values()) > 1
    }
    return frozenset(found) if len(found) < len(able) else frozenset()


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
    rows = np.flatnonzero(where & np.isfinite(load) & np.isfinite(rpm))
    rows = rows[:: max(1, rows.size // _SLOPE_ROWS)]
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


def _company(evidence: Evidence, found: Advances) -> None:
    """Advances come in company: two channels that agree most of the time are both advances."""
    for i in found.degrees:
        mine = [p for p in found.pairs if i in (p.a, p.b)]
        # a pair of something else (a cam and its target) agrees just as well, but is no advance
        mine = [p for p in mine if found.like_advance.get(p.b if p.a == i else p.a, 0.0) > -1.0]
        if not mine or found.like_advance.get(i, 0.0) < -1.0:
            continue
        best = max(mine, key=lambda p: p.company)
        partner = evidence.facts[best.b if best.a == i else best.a].channel.name
        says = f"it agrees with '{partner}' in {best.agree:.0%} of the run"
        if best.company > best.agree:
            says = f"it keeps one distance from '{partner}' in {best.beside:.0%} of the run"
        weight = 2.0 * graded(best.company, 0.15, 0.5)
        reading = evidence.readings.get((i, DELIVERED))
        if reading and reading.relabelled:
            # agreement in this reading only: what it cost to read against the label is repaid
            weight += -reading.cost
        for signal in (SCHEDULED, DELIVERED):
            evidence.add(i, signal, weight, says)
