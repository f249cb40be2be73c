"""Truth with three values, and the timers on it.

True, False, and None for "not computable". A timer keeps two clocks: one of what is surely so and
one of what may be so; where both say the same, the answer is known.
"""

from collections.abc import Sequence
from typing import TypeAlias

Truth: TypeAlias = bool | None


def span(later: float, earlier: float) -> float:
    """Seconds between two samples, to the microsecond."""
    return round(later - earlier, 6)


def all_of(truths: Sequence[Truth]) -> Truth:
    """True where all are; False where one is; else not computable."""
    if False in truths:
        return False
    return None if None in truths else True


def any_of(truths: Sequence[Truth]) -> Truth:
    """True where one is; False where none is; else not computable."""
    if True in truths:
        return True
    return None if None in truths else False


class HeldMachine:
    """True once its input has been true for so long. What came before the log does not count."""

    def __init__(self, seconds: float) -> None:
        self._seconds = seconds
        self._surely: float | None = None  # when the run of "true" began
        self._perhaps: float | None = None  # when the run of "not surely false" began

    def step(self, t: float, now: Truth) -> Truth:
        self._surely = _run(self._surely, t, now is True)
        self._perhaps = _run(self._perhaps, t, now is not False)
        if self._surely is not None and span(t, self._surely) >= self._seconds:
            return True
        if self._perhaps is None or span(t, self._perhaps) < self._seconds:
            return False
        return None


class LingerMachine:
    """True while its input is and for so long after. At first it may linger from before the log."""

    def __init__(self, seconds: float, fresh: bool) -> None:
        self._seconds = seconds
        self._was_true: Truth = False if fresh else None
        self._surely: float | None = None  # when a known "true" ended
        self._perhaps: float | None = None  # when a "not surely false" ended

    def step(self, t: float, now: Truth) -> Truth:
        if now is not True and self._was_true is True:
            self._surely = t
        if now is False and self._was_true is not False:
            self._perhaps = t
        self._was_true = now
        if now is True or (self._surely is not None and span(t, self._surely) < self._seconds):
            return True
        if now is None or (self._perhaps is not None and span(t, self._perhaps) < self._seconds):
            return None
        return False


def _run(began: float | None, t: float, going: bool) -> float | None:
    if not going:
        return None
    return t if began is None else began
