"""One correction of a sheet in the virtual ECU: what it would post by itself, with its memory.

What the contract leaves open is decided in `ecu`.
"""

import math

from tuneledger.calibrations.model import Correction
from tuneledger.car.machines import NEVER, LatchMachine, Read, condition_machine
from tuneledger.car.tables import TableMachine
from tuneledger.car.timers import Truth, all_of, span
from tuneledger.record import record

MET = 1e-9  # degrees between two ramps that have met


@record
class Posted:
    """One correction by itself, before others act: degrees (0 where an `add` is not active), its
    truth, and the share of a `base`. None: not computable."""

    value: float | None
    active: Truth
    weight: float | None


class CorrectionMachine:
    """One correction of a sheet, with all its memory."""

    def __init__(self, correction: Correction, enabled: bool, fresh: bool) -> None:
        self.id = correction.id
        self.effect = correction.effect
        self._correction = correction
        self._enabled = enabled
        self._when = [condition_machine(c, fresh) for c in correction.when]
        self._latch = None if correction.until is None else LatchMachine(correction.until, fresh)
        self._table = TableMachine(correction, fresh)
        self._weight = None if correction.weight is None else TableMachine(correction.weight, fresh)
        # time, and the least and the most that the ramp may stand at
        self._last: tuple[float, float, float] | None = None

    def step(self, t: float, read: Read, active: dict[str, Truth]) -> Posted:
        if not self._enabled and self.effect == "add":
            return Posted(0.0, False, 1.0)
        truth = all_of([c.step(t, read, active) for c in self._when])
        if self._latch is not None:
            truth = self._latch.step(t, read, active, truth)
        value = self._table.step(t, read, active)
        weight = 1.0 if self._weight is None else self._weight.step(t, read, active)
        if NEVER in (value, weight) or not self._enabled:
            truth = False
        if not self._correction.has_numbers:
            return self._worked_out(read, truth)
        number = known(value)
        if self.effect == "add":
            number = self._ramped(t, 0.0 if truth is False else (number if truth else None))
        return Posted(number, truth, known(weight))

    def _worked_out(self, read: Read, truth: Truth) -> Posted:
        """What the ECU works out itself: the log alone knows it."""
        logged = self._correction.logged_as
        number = None if logged is None else known(read("channel", logged, "deg"))
        if truth is not False:
            works = None if number is None else number != 0.0
            truth = all_of([truth, works])
        return Posted(number if self._enabled else 0.0, truth, 1.0)

    def _ramped(self, t: float, target: float | None) -> float | None:
        ramp = self._correction.ramps
        if ramp is None:
            return target
        low, high = self._reach() if target is None else (target, target)
        if self._last is not None:
            dt = span(t, self._last[0])
            fell, rose = self._last[1] - ramp.down * dt, self._last[2] - ramp.down * dt
            low = min(max(low, fell), self._last[1] + ramp.up * dt)
            high = min(max(high, rose), self._last[2] + ramp.up * dt)
        self._last = (t, low, high)
        return low if target is not None and high - low < MET else None

    def _reach(self) -> tuple[float, float]:
        """The least and the most that the correction can be at all, 0 (not active) included."""
        numbers = _numbers(self._correction.values)
        if self._correction.amount is not None:
            numbers = [self._correction.amount]
        if None in numbers:
            return -math.inf, math.inf
        reached = [0.0, *(n for n in numbers if n is not None)]
        return min(reached), max(reached)


def _numbers(values: object) -> list[float | None]:
    """The cells of a nested table; None for one that nobody knows."""
    if isinstance(values, list | tuple):
        return [number for part in values for number in _numbers(part)]
    return [float(values) if isinstance(values, int | float) else None]


def known(value: float | str | None) -> float | None:
    """The number, where it is one: not missing, not "never" and not NaN."""
    if value is None or isinstance(value, str) or math.isnan(value):
        return None
    return float(value)
