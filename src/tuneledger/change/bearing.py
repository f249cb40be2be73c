"""How far a log bears out a sheet: a rehearsal on a sheet that the log contradicts is worth little.

A rehearsal adds what two sheets differ by to what was delivered. That is what the edit would do
only where the first of them is what the ECU ran: where its own replay comes out as delivered.
"""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.evaluate.combine import combine
from tuneledger.evaluate.model import Contribution, Evidence
from tuneledger.explain.sheets import LaidSheet, carried, solid
from tuneledger.ledger.model import Ledger
from tuneledger.record import record

# Such a share of the run comes out where a sheet is what ran; the rest are edges and transients.
_FITS = 0.97
_CLEARLY = 0.05  # more of the run, before another sheet is said to fit better


@record
class Bearing:
    """What the log says of the sheet that is edited, and of the edited one.

    share:  of the run, in which the sheet alone comes out as delivered, within tolerance
    moving: the same of the samples that the edit moves; None where it moves none
    edited: share of the run in which the edited sheet comes out so
    """

    share: float
    moving: float | None
    edited: float

    @property
    def done(self) -> bool:
        """The ECU behaves as if it ran the edited sheet already."""
        return self.edited >= _FITS and self.edited >= self.share + _CLEARLY


def bearing(
    ledger: Ledger,
    old: LaidSheet,
    new: LaidSheet,
    *,
    logged: bool,
    counted: BoolArray,
    moving: BoolArray,
) -> Bearing:
    """Both sheets held against what was delivered.

    logged:  the account starts from a logged scheduled advance, not from the sheet's map
    counted: rows that may be judged; moving: those of them that the edit moves
    """
    before, after = (_comes_out(ledger, sheet, logged=logged) for sheet in (old, new))
    return Bearing(
        share=_share(before, counted),
        moving=_share(before, moving) if moving.any() else None,
        edited=_share(after, counted),
    )


def _share(right: BoolArray, rows: BoolArray) -> float:
    return float(right[rows].mean()) if rows.any() else 0.0


def _comes_out(ledger: Ledger, sheet: LaidSheet, *, logged: bool) -> BoolArray:
    """Rows in which the sheet asks for what was asked, and gives what was delivered."""
    start = ledger.scheduled if logged else sheet.map_values
    inside = sheet.calibration.spark.scheduled_includes if logged else ()
    parts = [_part(ledger, sheet, name) for name in sheet.enabled if name not in inside]
    given = combine(start, [solid(part) for part in parts], sheet.calibration.spark.limits)
    right = _within(ledger, ledger.delivered - given.delivered)
    asked_is_known = logged and np.isfinite(sheet.asked).any()
    return right & _within(ledger, ledger.scheduled - sheet.asked) if asked_is_known else right


def _part(ledger: Ledger, sheet: LaidSheet, name: str) -> Contribution:
    """A correction as the log carries it where it does, else as the sheet computes it."""
    part = sheet.parts[name]
    posted = next((e for e in ledger.entries if e.correction == name), None)
    as_logged = posted is not None and posted.evidence == Evidence.LOGGED
    return carried(part, posted.values) if as_logged and posted is not None else part


def _within(ledger: Ledger, off: FloatArray) -> BoolArray:
    right: BoolArray = np.abs(off) <= ledger.tolerance + ledger.slack
    return right
