"""Which corrections are ordinary: marked so by the owner, or an idle governor that behaves.

Ordinary is to be earned. A governor that works with the throttle open, or with more authority than
idle control needs, is not ordinary even if its sheet calls it an idle governor; nor is one whose
idle hunts. What the first sheet does not have, or has switched off, nobody can have wanted.
"""

from collections.abc import Mapping

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.evaluate.model import Contribution
from tuneledger.explain.hunting import swing_rpm
from tuneledger.explain.sheets import LaidSheet, same_correction
from tuneledger.ledger.book import Book
from tuneledger.record import record
from tuneledger.wording import degrees

ORDINARY_IDLE = "the ordinary work of the idle governor"

# Degrees either way that idle control may plausibly use: common practice, no source.
IDLE_AUTHORITY_DEG = 20.0
_CLOSED_SHARE = 0.9  # of the rows: edges of a stretch may lie a row off, judgement


def expectations(
    book: Book, sheet: LaidSheet, first: LaidSheet, parts: Mapping[str, Contribution]
) -> dict[str, str]:
    """Correction id → why what it posts in this log is expected.

    sheet: whose corrections act; first: the sheet that is said to run
    parts: the corrections as they are posted, computed or as a channel carries them
    """
    out: dict[str, str] = {}
    for correction in sheet.calibration.spark.correction:
        part, supplied = parts.get(correction.id), first.correction(correction.id)
        if part is None or part.source.file != sheet.file:
            continue
        if supplied is None or not supplied.enabled or not same_correction(supplied, correction):
            continue
        if wanted := supplied.expected or correction.expected:
            out[correction.id] = wanted
        elif correction.reason == "idle speed" and objection(book, part) is None:
            out[correction.id] = ORDINARY_IDLE
    return out


@record
class Objection:
    """Why a governor's work is not ordinary, and what to do about it, both in words."""

    why: str
    do: str


def objection(book: Book, part: Contribution) -> Objection | None:
    """What speaks against a governor's work being ordinary; None where nothing does.

    Ordinary keeps to a closed throttle and to a plausible authority, and does not hunt. Where it
    cannot be computed, or no throttle is known, nothing of this can be seen: not ordinary.
    """
    if not part.computable.any():
        return Objection("what it does cannot be seen in this log", "Log what it reads.")
    acting = book.judged & part.computable & (np.abs(part.values) > book.tolerance)
    if not acting.any():
        return None
    if not book.regimes.throttle_known:
        return Objection("no throttle is logged that shows it closed", "Log throttle position.")
    if book.regimes.closed[acting].mean() < _CLOSED_SHARE:
        return Objection(
            "it works with the throttle open",
            "Find out what keeps the governor awake off idle; a throttle zero that has drifted "
            "does.",
        )
    if np.abs(part.values[acting]).max() > IDLE_AUTHORITY_DEG:
        most = degrees(IDLE_AUTHORITY_DEG, 0, signed=False)
        return Objection(
            f"it moves the advance by more than {most}",
            "Find out why the idle needs so much before any change.",
        )
    return hunts(book, acting)


def hunts(book: Book, acting: BoolArray) -> Objection | None:
    """The objection that the idle hunts while a governor acts; None where it does not."""
    swing = swing_rpm(book, acting)
    if swing is None:
        return None
    return Objection(
        f"the idle hunts by about ±{round(swing, -1):.0f} rpm",
        "Find out why the idle hunts: false air, mixture, or too high a gain.",
    )
