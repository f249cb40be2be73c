"""What a rehearsal is: a log replayed under a changed calibration."""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Calibration
from tuneledger.change.bearing import Bearing
from tuneledger.change.edits import Change
from tuneledger.change.given_up import GivenUp
from tuneledger.change.raises import Raise
from tuneledger.explain.model import Need
from tuneledger.ledger.model import Ledger
from tuneledger.record import record
from tuneledger.statement.model import Statement

# Movements below this are rounding.
LEAST_DEG = 0.005


@record
class Moved:
    """One cell of the map in which delivered moves.

    at:       the cell's axis points, in the sheet's units
    mean_deg: rehearsed − delivered, mean over the samples that move there; seconds: how long
    """

    at: tuple[float, ...]
    mean_deg: float
    seconds: float


@record
class Shift:
    """One posting that comes out otherwise: an edited correction, or one that the edit drags along.

    mean_deg: over the samples in which it moves; peak_deg: the largest
    edited:   it was changed itself
    """

    entry: str
    called: str
    mean_deg: float
    peak_deg: float
    seconds: float
    edited: bool


@record(eq=False)
class Rehearsal:
    """A log replayed under edits: rehearsed = delivered + (replay under new − replay under old).

    statement: the plain one, of log and sheet as they were handed over
    edited:    the sheet with the edits in it
    ledger:    the account as it would be: its `scheduled` and entries are those under the edited
               sheet, its `delivered` is what is rehearsed, and its unaccounted what it was before.
               None where the log has no account
    moves:     rehearsed − delivered per row; NaN where it is not computable
    counted:   rows with a sample of delivered's own, not void
    under_load: rows under load
    unseen:    where the edit raises advance and this drive never was
    limits:    what is said of limits that the edit raises
    eased:     what is said of protections that it eases or switches off, driven or not
    given_up:  about how much torque an edit gives up that takes advance away; None of all others
    bearing:   how far the log bears out the sheet that is edited; None where the log has no account
    """

    statement: Statement
    edited: Calibration
    changes: tuple[Change, ...]
    ledger: Ledger | None
    moves: FloatArray
    counted: BoolArray
    under_load: BoolArray
    cells: tuple[Moved, ...]
    shifts: tuple[Shift, ...]
    headline: str
    notes: tuple[str, ...]
    needs: tuple[Need, ...]
    unseen: tuple[Raise, ...] = ()
    limits: tuple[str, ...] = ()
    eased: tuple[str, ...] = ()
    bearing: Bearing | None = None
    given_up: GivenUp | None = None

    @property
    def delivered(self) -> FloatArray:
        """As the log has it, lag removed."""
        ledger = self.statement.logs[0].ledger
        assert ledger is not None
        return ledger.delivered

    @property
    def moving(self) -> BoolArray:
        """Counted rows in which delivered moves."""
        moves: BoolArray = np.abs(np.nan_to_num(self.moves)) >= LEAST_DEG
        return moves & self.counted

    @property
    def open(self) -> BoolArray:
        """Counted rows in which it cannot be computed what the edit does."""
        return np.isnan(self.moves) & self.counted

    def seconds(self, rows: BoolArray) -> float:
        """How long these rows last together."""
        if self.ledger is None or not self.counted.any():
            return 0.0
        return float(rows.sum()) * self.ledger.row_s / max(float(self.ledger.own.mean()), 1e-9)

    @property
    def adds_under_load(self) -> float:
        """The most that the edit adds under load, degrees; 0 where it adds nothing there."""
        rows = self.moving & self.under_load
        return float(self.moves[rows].max(initial=0.0))

    @property
    def exit_status(self) -> int:
        """0 nothing moves, 1 something does, is raised unseen, or a limit is raised or a protection
        eased, 3 nothing could be computed."""
        if self.ledger is None or (self.open.any() and not self.moving.any()):
            return 3
        return 1 if self.moving.any() or self.unseen or self.limits or self.eased else 0


def not_replayed(
    statement: Statement, edited: Calibration, changes: tuple[Change, ...]
) -> Rehearsal:
    """A rehearsal before the replay: without an account, nothing moves, the statement's own words.

    Of a log without an account it is the whole rehearsal.
    """
    nobody = np.zeros(0, dtype=np.bool_)
    return Rehearsal(
        statement=statement,
        edited=edited,
        changes=changes,
        ledger=None,
        moves=np.zeros(0),
        counted=nobody,
        under_load=nobody,
        cells=(),
        shifts=(),
        headline=statement.headline,
        notes=statement.notes,
        needs=statement.needs,
    )
