"""Which corrections are ordinary: marked so by the owner, or an idle governor that behaves.

Ordinary is to be earned. A governor that works with the throttle open, or with more authority than
idle control needs, is not ordinary even if its sheet calls it an idle governor.
"""

from collections.abc import Mapping

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.evaluate.model import Contribution
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import merged, true_runs

ORDINARY_IDLE = "the ordinary work of the idle governor"

# Degrees either way that idle control may plausibly use: common practice, no source.
IDLE_AUTHORITY_DEG = 20.0
_CLOSED_SHARE = 0.9


# An idle that swings by more than this, to and fro for seconds, is hunting.
_HUNTING_RPM = 150.0
_HUNTING_TURNS = 6
_SETTLED_S = 2.0


def expectations(book: Book, sheet: LaidSheet, parts: Mapping[str, Contribution]) -> dict[str, str]:
    """Correction id → why what it posts in this log is expected.

    parts: the corrections as they are posted, computed or as a channel carries them
    """
    out: dict[str, str] = {}
    for correction in sheet.calibration.spark.correction:
        part = parts.get(correction.id)
        if correction.expected:
            out[correction.id] = correction.expected
        elif correction.reason == "idle speed" and part is not None and ordinary_idle(book, part):
            out[correction.id] = ORDINARY_IDLE
    return out


def ordinary_idle(book: Book, part: Contribution) -> bool:
    """Whether a governor keeps to a closed throttle, to a plausible authority, and does not hunt.

    Where it cannot be computed, or no throttle is known, nothing of this can be seen: not ordinary.
    """
    acting = book.judged & part.computable & (np.abs(np.nan_to_num(part.values)) > book.tolerance)
    if not part.computable.any():
        return False
    if not acting.any():
        return True
    closed = book.regimes.closed[acting].mean() if book.regimes.throttle_known else 0.0
    within = np.abs(part.values[acting]).max() <= IDLE_AUTHORITY_DEG
    return bool(closed >= _CLOSED_SHARE and within and not hunting(book, acting))


def hunting(book: Book, acting: BoolArray) -> bool:
    """Whether engine speed swings to and fro around its own mean while the governor works."""
    speed = book.inputs.signal("engine speed", "rpm")
    if speed is None or book.row_s <= 0:
        return False
    settled = round(_SETTLED_S / book.row_s)
    for first, last in merged(true_runs(acting & book.regimes.closed), book.times):
        swing = speed[min(first + settled, last) : last + 1]
        swing = swing[np.isfinite(swing)]
        if swing.size < 3 or float(np.std(swing)) < _HUNTING_RPM:
            continue
        above = swing > float(np.mean(swing))
        if int((above[1:] != above[:-1]).sum()) >= _HUNTING_TURNS:
            return True
    return False
