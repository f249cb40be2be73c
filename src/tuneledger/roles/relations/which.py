"""Which of the advances is scheduled and which delivered, with all that was found."""

import numpy as np

from tuneledger.roles import words
from tuneledger.roles.evidence import SOUGHT, Evidence
from tuneledger.roles.relations import leaning
from tuneledger.roles.relations.advance import DELIVERED, SCHEDULED, Advances
from tuneledger.roles.relations.common import graded

_MOST_PAIRS = 8
_ONE_OF_A_SERIES = 2.0
_MOST_LEAN = 9.0
_TWIN = 2.5
_FAR_BEHIND = 7.0
_NO_MAP_DEG = (1.2, 2.5)


def compare(evidence: Evidence, found: Advances) -> None:
    """The one that is a map as against all that resemble it; the others are outcomes."""
    columns = [SOUGHT.index(s) for s in (SCHEDULED, DELIVERED)]
    weights = {c: evidence.weights[c, columns].max() for c in found.degrees}
    least = max(weights.values()) - _FAR_BEHIND
    usable = [
        p
        for p in found.pairs
        if all(is_plain(evidence, found, c) and weights[c] > least for c in (p.a, p.b))
    ]
    leans: dict[tuple[int, int], tuple[float, str]] = {}
    for pair in sorted(usable, key=lambda p: -p.likeness)[:_MOST_PAIRS]:
        lean, says = leaning.lean(found, pair)
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
    return like > -1.0 and words.says_twin(name) < _TWIN and channel not in found.series


def speak(evidence: Evidence, found: Advances) -> None:
    """Say once, with all that was found, which of the advances is scheduled and which delivered."""
    _twins(evidence, found)
    if not found.lean:
        return
    calmest = max(found.lean, key=lambda c: found.lean[c])
    name = evidence.facts[calmest].channel.name
    # where even the calmest is no function of speed and load, scheduled is not in the log at all
    doubt = graded(leaning.wander(found, calmest, _NO_MAP_DEG[0]), *_NO_MAP_DEG)
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
        by_name = words.says_twin(name) or (named if named < 0 else -named / 2)
        if i in found.series:
            by_name = max(by_name, _ONE_OF_A_SERIES)
        evidence.set_twin(i, as_advance + by_name)
