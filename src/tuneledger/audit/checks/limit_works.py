"""Cells in which only a limit holds the sum

**What it finds.** Cells where the corrections that can act together would go beyond `limits`, so
that the limit is what decides. Upwards it is a doubt, downwards a note.

**Why it matters.** A limit is the last guard, not a setting. Where it is at work every day, nobody
knows what the corrections really add up to, and a wider limit lets all of it through at once.

**Example.** Cold air, cold coolant and an octane switch can add 7° to a cell of 34°; the limit of
38° takes 3° of it.

**What to do.** Look which corrections meet there (`--json` names them per cell) and ease them.

**When to ignore it.** Retards that pile up while several guards act, such as a launch in the heat,
often run into the lowest limit, and may.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.grid import largest
from tuneledger.audit.model import Said, Severity
from tuneledger.audit.phrases import cell, region
from tuneledger.audit.reach.settle import Extreme
from tuneledger.audit.sheet import Audited
from tuneledger.wording import degrees, listing

LEAST_DEG = 0.05


def check(sheet: Audited) -> Iterator[Said]:
    """Where the highest, and where the lowest, is what a limit makes of it."""
    grid = sheet.calibration.spark.map.grid
    limits = sheet.calibration.spark.limits
    if limits is None:
        return
    for extreme, severity, end, way in (
        (sheet.reach.highest, "doubt", limits.highest, "up to"),
        (sheet.reach.lowest, "note", limits.lowest, "down to"),
    ):
        if end is None:
            continue
        beyond = grid > end if way == "up to" else grid < end
        yield from _held(sheet, extreme, severity, way, beyond)  # type: ignore[arg-type]


def _held(
    sheet: Audited, extreme: Extreme, severity: Severity, way: str, clipped: np.ndarray
) -> Iterator[Said]:
    over = extreme.before - extreme.degrees
    # A map far above the highest limit may be cut even at its lowest: not that way.
    cut = np.maximum(np.nan_to_num(over if way == "up to" else -over), 0.0)
    cut = np.where(clipped, 0.0, cut)  # the map by itself: that is told elsewhere
    if not (cut > LEAST_DEG).any():
        return
    worst = largest(cut)
    by = [name for name, cells in extreme.by.items() if cells[worst] and name != "limit"]
    sum_to = degrees(float(extreme.before[worst]), signed=False)
    yield Said(
        severity,
        ("spark",),
        f"Only the limit holds the sum {region(sheet.calibration, cut > LEAST_DEG)}: at "
        f"{cell(sheet.calibration, worst)} {listing(by)} could take it {way} {sum_to}.",
        "Look which corrections meet there, and ease them rather than rely on the limit.",
        float(cut.max()),
    )
