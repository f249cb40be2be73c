"""The ledger: scheduled, entries, delivered, and what is left over."""

from functools import cached_property

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, frozen
from tuneledger.evaluate.model import Evidence
from tuneledger.ledger.tolerance import by_sample, local_change
from tuneledger.record import record

# With a smaller share of rows that hold a sample, those are sought out to find their neighbours.
_SPARSE = 0.6


def row_seconds(times: FloatArray) -> float:
    """Seconds from one row to the next, usually; 0 where there is no next."""
    return float(np.median(np.diff(times))) if times.size > 1 else 0.0


@record(eq=False)
class Entry:
    """What one correction contributed: signed, in the ledger's unit; NaN: not computable.

    file: the sheet that has it so; where revisions change on the way, two may carry one id
    """

    correction: str
    values: FloatArray
    evidence: Evidence
    channel: str | None = None
    revision: str | None = None
    expected: str | None = None
    file: str | None = None


@record(eq=False)
class Ledger:
    """One account over one log: a row per row of delivered's group, in file order.

    quantity, unit, combine: "spark advance", "deg", "sum"
    scheduled, delivered: NaN where void or not logged; lag removed
    own:       delivered has a sample of its own in this row
    void:      no spark to speak of (engine not turning, synchronisation lost): belongs to nothing
    slack:     what the difference may be off by in this row for lag, slope and rounding, beyond
               `tolerance`; for judging only
    leeway:    what `unaccounted` may be off by besides, downwards and upwards: what a table is
               worth within the log's rounding of its input, and a whole correction where the log
               cannot tell on which side of its threshold the input was; never excuses a difference
    regime:    one word of DESIGN's list per row
    """

    quantity: str
    unit: str
    combine: str
    times: FloatArray
    scheduled: FloatArray
    delivered: FloatArray
    entries: tuple[Entry, ...]
    own: BoolArray
    void: BoolArray
    slack: FloatArray
    tolerance: float
    regime: tuple[str, ...]
    leeway: tuple[FloatArray, FloatArray] | None = None

    @cached_property
    def row_s(self) -> float:
        """Seconds from one row to the next, usually."""
        return row_seconds(self.times)

    @cached_property
    def judged(self) -> BoolArray:
        """Rows that may be judged: an own sample of delivered, and a spark to speak of."""
        rows: BoolArray = self.own & ~self.void
        frozen(rows)
        return rows

    @cached_property
    def difference(self) -> FloatArray:
        """Delivered − scheduled, NaN where either is."""
        out: FloatArray = self.delivered - self.scheduled
        frozen(out)
        return out

    @cached_property
    def unaccounted(self) -> FloatArray:
        """Difference − sum of entries; NaN where an entry or an own delivered sample lacks."""
        out = self.difference.copy()
        for entry in self.entries:
            out -= entry.values
        out[~self.judged] = np.nan
        frozen(out)
        return out

    @cached_property
    def beyond_leeway(self) -> FloatArray:
        """Unaccounted, less what the leeway allows: 0 within it."""
        left = self.unaccounted
        if self.leeway is None:
            return left
        down, up = self.leeway
        out = np.where(left > 0, np.maximum(left - up, 0.0), np.minimum(left + down, 0.0))
        frozen(out)
        return out

    @cached_property
    def next_change(self) -> FloatArray:
        """The widest change of scheduled to the sample of delivered before or after; at a row
        between two samples of it, that of the two."""
        sparse = self.own.mean() <= _SPARSE
        out = by_sample(local_change, self.scheduled, self.own if sparse else None)
        frozen(out)
        return out

    @cached_property
    def edge_slack(self) -> FloatArray:
        """What an entry that starts, ends or slopes may be off by for a row or two of lag."""
        total = np.zeros(self.times.shape)
        for entry in self.entries:
            total += np.where(np.isnan(entry.values), 0.0, entry.values)
        out = local_change(total, reach=2)
        frozen(out)
        return out


@record
class EpisodeEntry:
    """An entry's mean over an episode."""

    correction: str
    deg: float
    evidence: Evidence
    channel: str | None
    revision: str | None


@record
class Part:
    """What of an episode lies in one regime: its share of the episode's time, and its own means."""

    regime: str
    share: float
    scheduled_deg: float
    delivered_deg: float
    difference_deg: float
    unaccounted_deg: float


@record
class Episode:
    """A stretch in which delivered and scheduled disagree, or something is unaccounted.

    first, last: row numbers in the ledger, both included. Means are over its judged samples.
    about: "delivery", or "map" where scheduled departs from the sheet's map
    regime: the one that holds for most of it
    parts:  by regime, longest first; none where it was not divided
    """

    log: int
    first: int
    last: int
    start_s: float
    end_s: float
    about: str
    regime: str
    scheduled_deg: float
    delivered_deg: float
    difference_deg: float
    unaccounted_deg: float
    expected: bool
    entries: tuple[EpisodeEntry, ...] = ()
    parts: tuple[Part, ...] = ()

    @property
    def by_regime(self) -> tuple[Part, ...]:
        """Its parts; the whole as one where it was not divided."""
        return self.parts or (
            Part(
                self.regime,
                1.0,
                self.scheduled_deg,
                self.delivered_deg,
                self.difference_deg,
                self.unaccounted_deg,
            ),
        )
