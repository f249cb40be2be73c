"""What evaluation takes in and gives back.

`Inputs` is all that evaluation knows of a log, so that a calibration can be replayed on a log, on
the virtual car or on numbers typed into a test.
"""

from enum import StrEnum
from functools import cached_property
from typing import Protocol

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.record import record


class Evidence(StrEnum):
    """What a number of the ledger stands on, the strongest first."""

    LOGGED = "logged"  # a channel carries it
    COMPUTED = "computed"  # a file and the log's inputs give it
    INFERRED = "inferred"  # fitted from the log


class Inputs(Protocol):
    """Columns on one time base. An array of NaN is an input that is there but missing at times;
    None is an input that the log does not carry."""

    @property
    def times(self) -> FloatArray:
        """Seconds, rising, one per sample."""
        ...

    def signal(self, name: str, unit: str | None) -> FloatArray | None:
        """A signal (`engine speed`) in `unit`, or in its own unit where None."""
        ...

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        """A log channel by its name in `unit`, or as logged where None; switches are 1 and 0."""
        ...


@record(eq=False)
class Ends:
    """Where a signal's channel stands at its own end: it was `at`, or beyond it.

    rows: per sample; high: beyond is above, else below
    """

    rows: BoolArray
    at: float
    high: bool


@record
class Source:
    """Where a contribution comes from: the sheet's file, its revision, the place in it."""

    file: str
    revision: str
    place: str


@record(eq=False)
class Contribution:
    """What one correction posts, sample by sample, before others act on it.

    correction: its id in the sheet
    effect:     "base", "add", "at most", "at least" or "replace"
    values:     the table's value in degrees, ramp included (for `add`: the signed contribution, 0
                where not active, unless a ramp still runs out there); NaN where not computable. For
                the other effects it counts only where active
    active:     the conditions hold (False where not computable)
    computable: False where an input is missing, or where what happened before the log matters
    weight:     share of a `base` that is blended in, 0 to 1; 1 for every other effect
    missing:    names of inputs that the log does not carry
    known:      whether it is active is known, though its value may not be; None: where computable
    """

    correction: str
    effect: str
    values: FloatArray
    active: BoolArray
    computable: BoolArray
    weight: FloatArray
    evidence: Evidence
    source: Source
    missing: tuple[str, ...] = ()
    known: BoolArray | None = None

    @cached_property
    def posts_nothing(self) -> bool:
        """Whether it changes nothing in any row in which it is computable."""
        if self.effect == "add":
            return not self.values[self.computable].any()
        return not (self.active & self.computable).any()


@record(eq=False)
class Replay:
    """A calibration carried out over inputs, from a scheduled advance to the delivered one.

    scheduled: what the replay started from (the sheet's map, or a logged channel)
    entries:   correction id → what it took or added, in degrees; also `limit`. They sum, with
               scheduled, to delivered. NaN where not computable
    delivered: NaN where a part of it is not computable
    """

    scheduled: FloatArray
    entries: dict[str, FloatArray]
    delivered: FloatArray
