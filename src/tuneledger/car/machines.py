"""Readings, conditions and look-up as plain state machines, one sample at a time.

Half of the oracle for `evaluate`: CONTRACT section 2 word for word, with no regard for speed, and
nothing shared with the vectorised evaluator. None stands for "not computable" throughout: a truth
value may be None, and so may a number. What the contract leaves open is decided like this:

- A time span is rounded to the microsecond before it is compared, so that 1.5 s at 50 Hz is 1.5 s.
- `held`: true for that long from the sample at which it turned true, equality suffices.
- `linger`: from the sample at which it turned false, for less than that long.
- `rate` over s seconds: (now − s seconds ago) / s, with a straight line between samples; not
  computable until s seconds have been seen.
- The unknown past: a reading inside a hysteresis band at the first sample is not computable until
  it leaves the band; what lingers is not computable for that long; a latch until its conditions or
  `until` are seen true. With "power off" the first sample is the power being put on.
- A missing sample in the middle does the same to what remembers it, and to no more than it must:
  `held` is surely false while it cannot yet have been true for long enough.
- A machine made `fresh` knows its past: nothing was true before its first sample. That is an ECU
  just switched on, which the virtual car needs; an evaluator of logs cannot know so much.
- `minus` and `over` name a signal where such a signal exists, else a channel, read in `unit` too.
"""

import math
from collections import deque
from collections.abc import Callable
from typing import Literal, TypeAlias

from tuneledger.calibrations.model import (
    AnyOf,
    Comparison,
    Condition,
    CorrectionActive,
    Reading,
)
from tuneledger.car.timers import HeldMachine, LingerMachine, Truth, any_of, span
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

Read: TypeAlias = Callable[[str, str, str | None], float | None]
"""read("signal" | "channel", name, unit) → the number in that unit; None or NaN where missing."""

NEVER: Literal["never"] = "never"
Value: TypeAlias = float | Literal["never"] | None
"""What a reading gives: "never" is a `since` whose condition has not yet turned true."""


class ReadingMachine:
    """One reading of a sheet, with the memory that `rate` and `since` need."""

    def __init__(self, reading: Reading, fresh: bool) -> None:
        self._reading = reading
        self._fresh = fresh
        self._since = None if reading.since is None else SinceMachine(reading.since, fresh)
        self._past: deque[tuple[float, float | None]] = deque()
        main = ("channel", reading.channel) if reading.channel else _source(reading.signal or "")
        self._main = (*main, reading.unit)
        self._minus = None if reading.minus is None else (*_source(reading.minus), reading.unit)
        self._over = None if reading.over is None else (*_source(reading.over), reading.unit)
        self._scale = 1.0
        if self._since is not None and reading.unit not in (None, "s"):
            self._scale = (conversion("s", reading.unit or "s") or (1.0, 0.0))[0]

    def step(self, t: float, read: Read, active: dict[str, Truth]) -> Value:
        if self._since is not None:
            elapsed = self._since.step(t, read, active)
            return elapsed if elapsed is None or isinstance(elapsed, str) else elapsed * self._scale
        value = self._now(read)
        return value if self._reading.rate is None else self._rate(t, value, self._reading.rate)

    def _now(self, read: Read) -> float | None:
        value = _known(read(*self._main))
        if self._minus is not None:
            other = _known(read(*self._minus))
            value = None if value is None or other is None else value - other
        if self._over is not None:
            other = _known(read(*self._over))
            value = None if value is None or not other else value / other
        return value

    def _rate(self, t: float, value: float | None, over_s: float) -> float | None:
        past = self._past
        past.append((t, value))
        while len(past) > 1 and span(t, past[1][0]) >= over_s:
            past.popleft()
        (t0, v0), (t1, v1) = past[0], past[min(1, len(past) - 1)]
        if value is None or v0 is None:
            return None
        if span(t, t0) < over_s:
            return 0.0 if self._fresh else None
        if span(t, t0) == over_s or t1 <= t0:
            before = v0
        elif v1 is None:
            return None
        else:
            before = v0 + (v1 - v0) * (t - over_s - t0) / (t1 - t0)
        return (value - before) / over_s


def _known(value: float | None) -> float | None:
    return None if value is None or math.isnan(value) else float(value)


def _source(name: str) -> tuple[str, str]:
    return ("signal" if name in SIGNALS else "channel", name)


class SinceMachine:
    """Seconds since a condition last turned true; true at the first sample has not turned."""

    def __init__(self, condition: Condition, fresh: bool) -> None:
        self._condition = condition_machine(condition, fresh)
        self._before: Truth = True
        self._turned: Value = NEVER  # the time at which it turned; None: it may have, unseen

    def step(self, t: float, read: Read, active: dict[str, Truth]) -> Value:
        now = self._condition.step(t, read, active)
        if now is not False and self._before is not True:
            self._turned = t if now and self._before is False else None
        self._before = now
        if self._turned is None or isinstance(self._turned, str):
            return self._turned
        return span(t, self._turned)


class ComparisonMachine:
    """A reading compared: hysteresis first, then `held`, then `linger`."""

    def __init__(self, comparison: Comparison, fresh: bool) -> None:
        self._comparison = comparison
        self._reading = ReadingMachine(comparison, fresh)
        self._state: Truth = False if fresh else None
        self._held = None if comparison.held is None else HeldMachine(comparison.held)
        self._linger = (
            None if comparison.linger is None else LingerMachine(comparison.linger, fresh)
        )

    def step(self, t: float, read: Read, active: dict[str, Truth]) -> Truth:
        self._state = truth = self._compare(self._reading.step(t, read, active))
        if self._held is not None:
            truth = self._held.step(t, truth)
        return truth if self._linger is None else self._linger.step(t, truth)

    def _compare(self, x: Value) -> Truth:
        c = self._comparison
        if x is None or isinstance(x, str):
            return None if x is None else False
        if c.above is not None or c.below is not None:
            return self._threshold(x, c)
        if c.between is not None:
            return c.between[0] <= x <= c.between[1]
        if isinstance(c.is_, str):
            return (x >= 0.5) == (c.is_ == "on")
        return abs(x - (c.is_ or 0.0)) <= 1e-9

    def _threshold(self, x: float, c: Comparison) -> Truth:
        """Above or below, and within the hysteresis band what it was before."""
        if (c.above is not None and x > c.above) or (c.below is not None and x < c.below):
            return True
        if c.release is None or (x < c.release if c.above is not None else x > c.release):
            return False
        return self._state


class LatchMachine:
    """Once active it stays so, until a condition holds; its own conditions come first."""

    def __init__(self, until: Condition | Literal["power off"], fresh: bool) -> None:
        self._until = None if until == "power off" else condition_machine(until, fresh)
        self._surely = False
        self._perhaps = self._until is not None and not fresh

    def step(self, t: float, read: Read, active: dict[str, Truth], now: Truth) -> Truth:
        over: Truth = False if self._until is None else self._until.step(t, read, active)
        self._surely = now is True or (self._surely and over is False)
        self._perhaps = now is not False or (self._perhaps and over is not True)
        return True if self._surely else (None if self._perhaps else False)


class AnyMachine:
    """True where one of its conditions is, each with its own memory."""

    def __init__(self, conditions: AnyOf, fresh: bool) -> None:
        self._machines = [condition_machine(c, fresh) for c in conditions.any]

    def step(self, t: float, read: Read, active: dict[str, Truth]) -> Truth:
        return any_of([m.step(t, read, active) for m in self._machines])


class ActiveMachine:
    """True while an earlier correction is active; not computable where that is not, or comes
    later."""

    def __init__(self, condition: CorrectionActive) -> None:
        self._correction = condition.correction

    def step(self, t: float, read: Read, active: dict[str, Truth]) -> Truth:
        return active.get(self._correction)


ConditionMachine: TypeAlias = ComparisonMachine | AnyMachine | ActiveMachine


def condition_machine(condition: Condition, fresh: bool) -> ConditionMachine:
    """The machine of a condition. fresh: it knows that nothing was true before its first sample."""
    if isinstance(condition, AnyOf):
        return AnyMachine(condition, fresh)
    if isinstance(condition, CorrectionActive):
        return ActiveMachine(condition)
    return ComparisonMachine(condition, fresh)
