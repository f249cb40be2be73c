"""What a log is, before anybody reconciles it: how it was read, and what each channel is."""

from tuneledger.logs.facts import Facts
from tuneledger.logs.model import Channel, Log
from tuneledger.record import record
from tuneledger.roles.model import Roles

FORMAT = "tuneledger-look/1"


@record
class RunnerUp:
    """The next best reading: another channel for the signal, or the signal that this may be."""

    channel: str
    signal: str
    certainty: float


@record
class Seen:
    """One channel: the signal that it is taken for, and the facts of its numbers.

    signal, certainty: None where it is taken for none
    why:     what spoke for the signal, or why it is not sure; most telling first
    remarks: what is odd about the numbers, in words; empty for a plain channel
    """

    channel: Channel
    signal: str | None
    certainty: float | None
    why: tuple[str, ...]
    runner_up: RunnerUp | None
    facts: Facts
    remarks: tuple[str, ...]


@record
class Look:
    """A log looked at.

    notes:   about the file, its time and its cells
    advance: how the two advance channels lie to each other: lag, steps
    """

    log: Log
    roles: Roles
    channels: tuple[Seen, ...]
    notes: tuple[str, ...]
    advance: tuple[str, ...]

    @property
    def exit_status(self) -> int:
        """0 a log with nothing odd about it, 1 there is something to say."""
        odd = any(seen.remarks and not seen.facts.constant for seen in self.channels)
        return 1 if self.notes or self.roles.doubts or odd else 0
