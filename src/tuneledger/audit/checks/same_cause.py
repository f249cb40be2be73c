"""Two corrections that answer the same cause

**What it finds.** Two enabled corrections with the same reason, over the same quantity, that can
act at the same time and both take, or both add, at least half a degree.

**Why it matters.** A cause that is answered twice costs twice. It often happens when a setting is
taken over into another place and stays in the old one.

**Example.** `hot-air` over intake air temperature in the corrections of the map, and `iat-trim`
over the same temperature elsewhere: on a warm day both take 4°.

**What to do.** Keep the one that is meant and switch the other off, or share the amount between
them.

**When to ignore it.** Where two tables share one answer on purpose, say one by load and one by
speed.
"""

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Correction, readings
from tuneledger.wording import degrees, listing

ANSWERED = (
    *("idle speed", "coolant temperature", "air temperature", "oil temperature"),
    *("battery voltage", "boost", "nitrous", "altitude", "overrun", "after start"),
)
LEAST_DEG = 0.5


def check(sheet: Audited) -> Iterator[Said]:
    """Pairs of additions that answer one cause in the same direction."""
    work = [(p, c) for p, c in sheet.enabled if c.effect == "add" and c.reason in ANSWERED]
    for (path, one), (other_path, other) in combinations(work, 2):
        if one.reason != other.reason:
            continue
        shared = _quantities(one) & _quantities(other)
        if not shared:
            continue
        both = _together(sheet, one, other)
        if abs(both) >= LEAST_DEG and sheet.possible.both_act(one, other):
            yield Said(
                "doubt",
                (path, other_path),
                f"{called(one)} and {called(other)} both answer {one.reason} by "
                f"{listing(sorted(shared))}, and can act at once: together up to {degrees(both)}.",
                "Keep the one that is meant, or share the amount between them.",
                abs(both),
            )


def _quantities(correction: Correction) -> set[str]:
    """What it runs along; of one without a table, what its conditions read."""
    parts = correction.axes or correction.when
    found = (r for part in parts for r in readings(part))
    return {name for r in found for name in (r.signal, r.channel) if name}


def _together(sheet: Audited, one: Correction, other: Correction) -> float:
    """What the two take, or add, in the cell where that is most; 0 where they do not pull alike."""
    first, second = sheet.moves(one), sheet.moves(other)
    takes = np.where((first.low < 0) & (second.low < 0), first.low + second.low, 0.0)
    adds = np.where((first.high > 0) & (second.high > 0), first.high + second.high, 0.0)
    least, most = float(np.min(takes)), float(np.max(adds))
    return least if -least >= most else most
