"""What an explanation is made of: causes, their rules, and what speaks for and against them."""

from collections.abc import Mapping
from typing import Any, Literal

from tuneledger.record import record

Kind = Literal[
    "correction",
    "other revision",
    "other map",
    "limit",
    "replacement",
    "hidden rule",
    "log timing",
    "sign",
    "unit",
    "unknown",
]


# A cause explains its episode from this certainty on.
SURE = 0.8
# The entry of a delivered advance that never moves: perhaps the channel, not the car.
STILL = "never-moves"
# The entry of a delivered advance that moves only so fast, and is behind what was asked for.
RATE = "rate-limit"


@record
class Curve:
    """Degrees along one channel of the log, in the log's own unit; end values hold outside."""

    channel: str
    at: tuple[float, ...]
    deg: tuple[float, ...]


@record
class Hold:
    """A number at which the advance is held, as a sheet's effect has it."""

    effect: Literal["at most", "at least", "replace"]
    degrees: float


@record
class Rule:
    """A rule in the contract's form: all conditions true, then an amount or a curve.

    when: conditions as a sheet writes them, on the log's own names and units
    ramp: degrees per second, or {"down": …, "up": …}
    hold: the advance that it holds, where it adds nothing of its own; `along` then says the same of
          what stands beside scheduled alone, and is None where more acts there
    """

    when: tuple[Mapping[str, Any], ...] = ()
    amount_deg: float | None = None
    along: Curve | None = None
    ramp: float | Mapping[str, float] | None = None
    hold: Hold | None = None


@record
class Cell:
    """A point of a table's axes: where scheduled and the supplied map disagree, or which a sheet
    leaves open.

    difference_deg: by how much they disagree; of an open cell, what the log shows it to post
    """

    at: tuple[float, ...]
    difference_deg: float
    seconds: float


@record
class Point:
    """One piece of evidence; `channel` and `threshold` let a page draw it."""

    speaks: Literal["for", "against"]
    says: str
    channel: str | None = None
    threshold: float | None = None


@record
class Cause:
    """The verdict on one or more episodes.

    degrees:  mean over the samples in which it acts; signed
    seconds:  how long it acts beyond tolerance
              of `sign` and `unit`: what the account would be off by, read as labelled
    rank:     1 first
    episodes: indices into the statement's episodes
    entry:    the ledger's entry that it posts, None where it posts none
    file:     the sheet that has that entry, or that map, so; None where no sheet has it
    alike:    other revisions that have it so and fit the logs as well
    span:     the least and the most that it posts, where it goes both ways and the mean says little
    raises_under_load: it puts delivered above scheduled under load by more than the tolerance
    """

    rank: int
    kind: Kind
    correction: str | None
    revision: str | None
    channel: str | None
    degrees: float
    seconds: float
    certainty: float
    expected: bool
    says: str
    next_step: str
    evidence: tuple[Point, ...] = ()
    rule: Rule | None = None
    alternatives: tuple[Rule, ...] = ()
    cells: tuple[Cell, ...] = ()
    episodes: tuple[int, ...] = ()
    raises_under_load: bool = False
    entry: str | None = None
    file: str | None = None
    alike: tuple[str, ...] = ()
    span: tuple[float, float] | None = None

    @property
    def understood(self) -> bool:
        """A sheet lists it, and it is sure."""
        return self.file is not None and self.certainty >= SURE


@record
class Need:
    """Something that would have to be logged or supplied, and why."""

    what: str
    why: str


@record
class Rank:
    """How well one supplied revision reproduces the log: RMS of what it leaves, in degrees.

    `misfit_deg` is None where the log lacks what would be needed to replay it."""

    revision: str
    file: str
    misfit_deg: float | None


@record
class Span:
    """A stretch of one log in which one revision ran.

    began_s: the moments between which the change that it begins with may lie, as far as this log
             can tell; None where no change begins it
    file:    the revision's sheet
    """

    log: int
    start_s: float
    end_s: float
    revision: str | None
    began_s: tuple[float, float] | None = None
    file: str | None = None


@record
class Running:
    """Like which supplied revision the ECU behaves.

    best:  the one that fits, or of several that ran in turn the one that ran longest
    twins: files of other sheets that fit these logs as well as the best does
    unjudged: files of sheets that say nothing of these logs, or of which these logs say nothing
    read_out: those of them that were read out of these very logs
    """

    supplied: str
    best: str | None
    matches_supplied: bool
    certainty: float
    ranking: tuple[Rank, ...]
    spans: tuple[Span, ...]
    says: str = ""
    twins: tuple[str, ...] = ()
    unjudged: tuple[str, ...] = ()
    read_out: tuple[str, ...] = ()

    @property
    def best_file(self) -> str | None:
        """The file of `best`: of two sheets of that name the one that ran longest."""
        if self.best is None:
            return None
        ran: dict[str, float] = {}
        for span in self.spans:
            if span.revision == self.best and span.file is not None:
                ran[span.file] = ran.get(span.file, 0.0) + span.end_s - span.start_s
        ranked = (rank.file for rank in self.ranking if rank.revision == self.best)
        return max(ran, key=lambda file: ran[file]) if ran else next(ranked, None)

    @property
    def in_car(self) -> str | None:
        """The file of the sheet like which the ECU behaved last; None where it was like none."""
        last = max(self.spans, key=lambda span: (span.log, span.start_s), default=None)
        return last.file if last else None

    @property
    def changed(self) -> bool:
        """Several sheets ran in turn, within a log or from log to log."""
        return len({(span.revision, span.file) for span in self.spans}) > 1
