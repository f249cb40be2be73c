"""A retard under load, while the sheet has knock control of which the log shows nothing.

Knock control takes degrees where the engine knocks: under load. What it follows is in few logs, and
what it takes may look like a rule over load or speed in a few pulls. The more pulls show the same
degrees behind the same threshold, the less it is that; a switch that turns with them rules it out.
"""

from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.calibrations.model import Correction
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Point, Rule
from tuneledger.explain.reads import conditions
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book

# How much likelier knock control is at work than a rule that nobody wrote down, before any pull is
# looked at, and how likely the next pull looks the same all the same: common sense, no source.
_ODDS, _NEXT_TOO = 10.0, 0.5
# This share of the rows of a retard lie under load, and are degrees that knock control may take.
_MOSTLY = 0.9


def beside_knock(book: Book, sheet: LaidSheet | None, extra: Extra, edges: int) -> Extra:
    """A rule as sure as it is beside knock control that may have done the same; else as it is.

    edges: at how many it was seen to start or stop
    """
    if extra.rule is None or extra.values is None or sheet is None or _by_switch(extra.rule):
        return extra
    rows = extra.rows & book.judged & (np.abs(extra.values) > book.tolerance)
    if not rows.any() or book.regimes.load[rows].mean() < _MOSTLY:
        return extra
    for name in sheet.enabled:
        correction = sheet.correction(name)
        if correction is not None and _could(book, sheet, correction, extra, rows):
            odds = _ODDS * _NEXT_TOO ** (edges / 2)
            says = f"'{name}' of the sheet could have done this too: the log shows nothing of it"
            return replace(
                extra,
                certainty=round(extra.certainty / (1.0 + odds), 2),
                points=(*extra.points, Point("against", says)),
            )
    return extra


def _by_switch(rule: Rule) -> bool:
    return any("is" in one for one in conditions(rule.when))


def _could(
    book: Book, sheet: LaidSheet, correction: Correction, extra: Extra, rows: BoolArray
) -> bool:
    """Whether a correction is knock control that nothing shows, and may take what a rule posts."""
    if correction.reason != "knock" or correction.has_numbers or extra.values is None:
        return False
    low, high = correction.range or (-np.inf, 0.0)
    values = extra.values[rows]
    within = (values >= low - book.tolerance) & (values <= min(high, 0.0))
    unknown = ~sheet.parts[correction.id].computable[rows]
    return bool((within & unknown).mean() >= _MOSTLY)
