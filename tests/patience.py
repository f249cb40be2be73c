"""How long a test waits: what takes no time when right takes for ever when wrong."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def at_most(seconds: float) -> Iterator[None]:
    """What waits for ever is a fault, and not a run without an end; nothing takes it for damage."""

    def late(number: int, frame: object) -> None:
        raise AssertionError(f"still at it after {seconds:.0f} s")

    before = signal.signal(signal.SIGALRM, late)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
