"""One thing to log next."""

from tuneledger.record import record


@record
class Experiment:
    """A stretch of another log, or a channel to be logged, and what it would settle.

    sentence: what to do, ready to be sent: `Next log: light throttle, Wet on, and watch Fan.`
    tells:    what it tells apart: `Wet switch from Fan`
    bits:     how much doubt it is expected to remove; 0 where nothing safe would tell
    cause:    the entry of the cause that it is about, None where it is about the running revision
    """

    sentence: str
    tells: str
    bits: float
    cause: str | None = None
