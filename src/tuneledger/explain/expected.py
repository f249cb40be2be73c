"""Which corrections are ordinary: marked so by the owner, or an idle governor that behaves.

Ordinary is to be earned. A governor that works with the throttle open, or with more authority than
idle control needs, is not ordinary even if its sheet calls it an idle governor.
"""

import numpy as np

from tuneledger.evaluate.model import Contribution
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book

ORDINARY_IDLE = "the ordinary work of the idle governor"

# Degrees either way that idle control may plausibly use: common practice, no source.
IDLE_AUTHORITY_DEG = 20.0
_CLOSED_SHARE = 0.9


def expectations(book: Book, sheet: LaidSheet) -> dict[str, str]:
    """Correction id → why what it does in this log is expected."""
    out: dict[str, str] = {}
    for correction in sheet.calibration.spark.correction:
        if correction.expected:
            out[correction.id] = correction.expected
        elif correction.reason == "idle speed" and ordinary_idle(book, sheet.parts[correction.id]):
            out[correction.id] = ORDINARY_IDLE
    return out


def ordinary_idle(book: Book, part: Contribution) -> bool:
    """Whether a governor keeps to a closed throttle and to a plausible authority in this log."""
    acting = book.judged & part.computable & (np.abs(np.nan_to_num(part.values)) > book.tolerance)
    if not acting.any():
        return True
    closed = book.regimes.closed[acting].mean() if book.regimes.throttle_known else 1.0
    return bool(closed >= _CLOSED_SHARE and np.abs(part.values[acting]).max() <= IDLE_AUTHORITY_DEG)
