"""Corrections that are filled but switched off

**What it finds.** A correction with numbers in it and `enabled = false`.

**Why it matters.** It does nothing today. Whoever loads a file made from this one, or flips the
switch, gets all of it at once; and conditions that wait for it wait in vain.

**Example.** `id = "launch"`, `amount = -11.0`, `enabled = false`.

**What to do.** Know that it is there; empty it if it is left over from another engine.

**When to ignore it.** It is a note, and asks for nothing.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.audit.model import Said
from tuneledger.audit.phrases import called
from tuneledger.audit.sheet import Audited
from tuneledger.wording import degree_span, degrees


def check(sheet: Audited) -> Iterator[Said]:
    """One line for each."""
    for path, correction in sheet.corrections:
        grid = correction.grid
        if correction.enabled or not np.nan_to_num(grid).any():
            continue
        low, high = float(np.nanmin(grid)), float(np.nanmax(grid))
        holds = degrees(low) if low == high else degree_span(low, high)
        yield Said(
            "note",
            (path,),
            f"{called(correction)} is switched off, but holds {holds}.",
            "Know that it is there; empty it if it is left over.",
            max(abs(low), abs(high)),
        )
