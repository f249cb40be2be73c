"""Which channel is which signal: with certainty, reasons and the runner-up."""

from collections.abc import Mapping
from dataclasses import field

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.logs.model import Channel
from tuneledger.record import record
from tuneledger.roles.folded import Fold


@record
class Unsure:
    """When a channel is not to be trusted, and how far.

    spans: (from, to) in seconds of the log, both ends within
    end:   where the channel ends, in the signal's own unit: it was that or `beyond` it. None: it
           says nothing then
    beyond: "high" or "low"
    """

    spans: tuple[tuple[float, float], ...]
    end: float | None = None
    beyond: str | None = None

    def rows(self, times: FloatArray) -> BoolArray:
        """Which of these times lie in the spans."""
        out = np.zeros(times.shape, dtype=np.bool_)
        for start, stop in self.spans:
            out |= (times >= start) & (times <= stop)
        return out


@record
class Role:
    """A channel read as a signal.

    unit:      the unit in which the channel's numbers are read (a spelling of `units`), which may
               differ from the channel's label where the values contradict it
    scale, offset: signal value, in the signal's own unit, = scale · number + offset. They hold the
               unit conversion, a sign turned round and gauge pressure made absolute, all in one
    certainty: 0 to 1, of this channel being that signal
    why:       reasons, most telling first, in plain words
    runner_up: the next best channel and its certainty
    relabelled: "sign" or "unit" where the channel had to be read against its own label, else None
    held:      the channel is sampled more slowly than its group and repeats its value
    unsure:    when its numbers are not to be trusted; None where they are throughout
    fold:      the channel went round its byte, and how that is put right; None where it did not
    """

    signal: str
    channel: Channel
    unit: str
    scale: float = 1.0
    offset: float = 0.0
    certainty: float = 1.0
    why: tuple[str, ...] = ()
    runner_up: tuple[Channel, float] | None = None
    relabelled: str | None = None
    held: bool = False
    unsure: Unsure | None = None
    fold: Fold | None = None

    def read(self, numbers: FloatArray) -> FloatArray:
        """The channel's numbers as the signal, in the signal's own unit; NaN stays NaN."""
        return np.asarray(numbers * self.scale + self.offset, dtype=np.float64)


@record
class Doubt:
    """A signal for which no channel is sure enough: the candidates, best first, and why.

    instead: the signal that the first candidate may be instead of this one, and how likely
    """

    signal: str
    candidates: tuple[tuple[Channel, float], ...]
    why: str
    instead: tuple[str, float] | None = None


@record
class Misfit:
    """A channel that is named like a signal and cannot be it as its numbers stand.

    says: what is wrong with its numbers; unit: what to state in a roles file, where a factor of ten
          would put it right
    """

    signal: str
    channel: Channel
    says: str
    unit: str | None = None


@record
class Wanting:
    """A signal that the log lacks, and that a reading had to assume.

    why: for what; decides: another value of it does as well as another map would
    """

    signal: str
    why: str
    decides: bool = False


@record
class Roles:
    """All roles of one log. A signal that is not in `by_signal` has no channel here.

    units: channel name → unit, where somebody said that a label is wrong or missing
    parts: channels that look like what is taken from the advance, and what they look like; told
           where no channel is surely the delivered one
    misfits: channels that are named like a signal without a channel, and cannot be it
    wanting: signals that a reading had to assume, and for what
    perhaps_round: that delivered may have gone round its byte, where nothing settles it
    """

    by_signal: Mapping[str, Role] = field(default_factory=dict)
    doubts: tuple[Doubt, ...] = ()
    notes: tuple[str, ...] = ()
    units: Mapping[str, str] = field(default_factory=dict)
    parts: tuple[tuple[Channel, str], ...] = ()
    misfits: tuple[Misfit, ...] = ()
    wanting: tuple[Wanting, ...] = ()
    perhaps_round: tuple[str, ...] = ()

    def get(self, signal: str) -> Role | None:
        return self.by_signal.get(signal)

    def of(self, channel: Channel) -> Role | None:
        """The role that this channel plays, if any."""
        return next((r for r in self.by_signal.values() if r.channel == channel), None)
