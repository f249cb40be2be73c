"""What can move the advance now

**What it finds.** Every correction that is switched on and can move the advance away from the map,
with where and by how much, by itself. One that can never act is left out: other checks tell why.

**Why it matters.** It is the list to read before a calibration that came without a log is loaded,
or before one starts to look for a lost degree.

**Example.** "Hot charge air (charge-air) moves the advance by −8.0° to 0.0° in every cell."

**What to do.** Read it. What should not be on the list is to be switched off.

**When to ignore it.** It is a note, and asks for nothing.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called, in_words, region, when_acting
from tuneledger.audit.sheet import Audited
from tuneledger.calibrations.model import Correction
from tuneledger.wording import degree_span, degrees

LEAST_DEG = 0.05
_DOES = {
    "base": "puts another map in its place and moves the advance by",
    "at most": "caps the advance, here by",
    "at least": "holds the advance up, here by",
    "replace": "takes the place of everything, here by",
}


def check(sheet: Audited) -> Iterator[Said]:
    """One line for each correction that can do something."""
    for path, correction in sheet.enabled:
        moves = sheet.moves(correction)
        cells = (np.abs(moves.low) > LEAST_DEG) | (np.abs(moves.high) > LEAST_DEG)
        if cells.any():
            low, high = float(moves.low[cells].min()), float(moves.high[cells].max())
            does = _DOES.get(correction.effect, "moves the advance by")
            told = f"{does} {_span(low, high)} {region(sheet.calibration, cells)}"
        elif np.nan_to_num(correction.grid).any() and _acts(sheet, correction):
            low, high = float(np.nanmin(correction.grid)), float(np.nanmax(correction.grid))
            told = f"acts beyond the points of the map only, with {_span(low, high)}"
        else:
            continue
        yield Said(
            "note",
            (path,),
            f"{called(correction)} {told}{_when(correction)}.",
            "Switch off what should not be on this list.",
            moves.size,
        )


def _acts(sheet: Audited, correction: Correction) -> bool:
    """Whether it can act somewhere, although in no cell of the map."""
    inside = sheet.reach.acts(sheet.reach.by_id[correction.id])
    return sheet.possible.can_act(correction.id) and not bool(inside.any())


def _span(low: float, high: float) -> str:
    return degrees(low) if abs(low - high) < LEAST_DEG else degree_span(low, high)


def _when(correction: Correction) -> str:
    if not correction.when:
        return ""
    until, acting = correction.until, f", {when_acting(correction.when)}"
    if until is None:
        return acting
    if until == "power off":
        return f"{acting}, and on until the power goes off"
    ends = when_acting([until])
    return f"{acting}, and on until {ends[6:] if ends.startswith('while ') else in_words(until)}"
