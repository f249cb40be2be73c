"""An ECU whose output moves by only so many degrees a second."""

from dataclasses import replace

from tuneledger.car.drive import Ignition
from tuneledger.car.ecu import Step
from tuneledger.car.machines import Read


class RateLimited:
    """What an ECU delivers, followed by at most so many degrees a second up and down.

    What is still lacking on the way is posted as `limit`, beside what the limits of the sheet cut.
    """

    def __init__(self, ecu: Ignition, up: float, down: float) -> None:
        self._ecu, self._up, self._down = ecu, up, down
        self._last: tuple[float, float] | None = None

    def step(self, t: float, read: Read, scheduled: float | None = None) -> Step:
        asked = self._ecu.step(t, read, scheduled)
        if asked.delivered is None:
            self._last = None
            return asked
        given = asked.delivered
        if self._last is not None:
            dt, before = t - self._last[0], self._last[1]
            given = min(max(given, before - self._down * dt), before + self._up * dt)
        self._last = (t, given)
        cut = (asked.entries.get("limit") or 0.0) + given - asked.delivered
        return replace(asked, entries=asked.entries | {"limit": cut}, delivered=given)
