"""Knock control of the virtual ECU: a correction that it works out by itself."""

from dataclasses import dataclass


@dataclass(slots=True)
class KnockControl:
    """Takes a step at each knock, at most ten in a second, and gives it back slowly."""

    step_deg: float = 1.4
    most_deg: float = 7.0
    back_deg_s: float = 0.9
    share: float = 0.0
    _quiet_for: float = 1.0

    def step(self, dt: float, level: float, rpm: float) -> float:
        """The contribution in degrees, zero or negative."""
        self._quiet_for += dt
        self.share = min(0.0, self.share + self.back_deg_s * dt)
        if level > 0.75 + rpm * 9e-5 and rpm > 1500.0 and self._quiet_for >= 0.1:
            self.share = max(-self.most_deg, self.share - self.step_deg)
            self._quiet_for = 0.0
        return self.share
