"""What a timing light says: a reference angle that is off, a delay, or neither.

The spark falls where the ECU believes the crank to be. If its reference angle is off, every reading
is off by the same angle; if the spark comes late by a time (pick-up, coil driver, the compensation
of either), the angle grows with speed, by 6 degrees per second and rpm:

    observed − commanded = offset − 6·10⁻⁶ · rpm · delay_us
"""

from functools import cached_property
from typing import Literal

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.light.line import SURE, Line, fit_line
from tuneledger.light.outliers import outliers
from tuneledger.light.readings import Readings
from tuneledger.light.rounding import Lines, step_of
from tuneledger.light.student import two_sided
from tuneledger.light.turned import seem_turned
from tuneledger.record import record

DEG_PER_RPM_US = 6e-6  # 360° per revolution, 60 s per minute, 10⁻⁶ s per µs

# Readings that can carry a verdict: common practice, no source.
FEWEST = 4
NARROWEST = 1.5  # highest speed over lowest
# What a light can be read to, and what is worth a change: common practice, no source.
WORTH_DEG = 0.5
UNSURE_DEG = 1.5

State = Literal["agrees", "correct", "cannot tell"]


@record(eq=False)
class Fit:
    """The readings, and the line through those that belong to it.

    left_out: readings flagged as outliers; the line is drawn without them
    turned:   readings that look as if they had been counted after top dead centre
    line:     observed − commanded over rpm; None where the readings have one speed only
    """

    readings: Readings
    left_out: BoolArray
    line: Line | None
    turned: BoolArray

    @property
    def used(self) -> int:
        return int((~self.left_out).sum())

    @property
    def offset_deg(self) -> float | None:
        """Above 0: the spark comes earlier than commanded, at every speed."""
        return self.line.intercept if self.line else None

    @property
    def offset_interval_deg(self) -> tuple[float, float] | None:
        """At 95 %; None where fewer than three readings stand behind it."""
        return self.interval_at(0.0) if self.line and self.line.freedom else None

    @property
    def delay_us(self) -> float | None:
        """Above 0: the spark comes later than commanded, the more so the faster the engine."""
        return -self.line.slope / DEG_PER_RPM_US if self.line else None

    @property
    def delay_interval_us(self) -> tuple[float, float] | None:
        """At 95 %; None where fewer than three readings stand behind it."""
        if self.line is None or not self.line.freedom:
            return None
        low, high = self.line.slope_interval
        if self._rounded is not None:
            least, most = self._rounded.slope
            low, high = min(low, least), max(high, most)
        return -high / DEG_PER_RPM_US, -low / DEG_PER_RPM_US

    def interval_at(self, rpm: float) -> tuple[float, float]:
        """Between which degrees the line lies at a speed, at 95 %: as the scatter has it, and never
        narrower than what the rounding of the readings leaves. The line needs freedom.
        """
        assert self.line is not None
        at = np.array([rpm])
        spread = self.line.residual * float(np.sqrt(self.line.leverage(at)[0]))
        half, middle = two_sided(SURE, self.line.freedom) * spread, float(self.line.at(at)[0])
        low, high = middle - half, middle + half
        if self._rounded is not None:
            least, most = self._rounded.at(rpm)
            low, high = min(low, least), max(high, most)
        return low, high

    @property
    def step_deg(self) -> float:
        """What the observed advance was rounded to; 0 where no step shows."""
        return step_of(self.readings.observed[~self.left_out])

    @property
    def coarse(self) -> bool:
        """The rounding leaves more open than the scatter shows."""
        left = self.residual_deg
        return self.line is not None and self.step_deg / 2.0 > (left or 0.0)

    @cached_property
    def _rounded(self) -> Lines | None:
        """The lines that the readings may have been rounded from; None where no step shows.

        Where readings lie off the fitted line by more than half a step, as far as they do.
        """
        if self.line is None or not self.step_deg:
            return None
        rpm, off = self.readings.rpm[~self.left_out], self.readings.off[~self.left_out]
        left = float(np.abs(off - self.line.at(rpm)).max())
        return Lines(rpm, off, max(self.step_deg / 2.0, left))

    @property
    def residual_deg(self) -> float | None:
        """Standard deviation of the readings about the line; None without freedom."""
        return self.line.residual if self.line and self.line.freedom else None

    @property
    def outlier_rows(self) -> tuple[int, ...]:
        """Rows of the table, 1 the first below the header."""
        return tuple(int(row) for row in self.readings.rows[self.left_out])

    @property
    def top_rpm(self) -> float:
        return float(self.readings.rpm[~self.left_out].max())

    @property
    def low_rpm(self) -> float:
        return float(self.readings.rpm[~self.left_out].min())

    @property
    def turned_rows(self) -> tuple[int, ...]:
        """Rows of the table, as `outlier_rows`."""
        return tuple(int(row) for row in self.readings.rows[self.turned])

    @property
    def sign_in_doubt(self) -> bool:
        """A reading that the line is drawn through looks as if its sign were the wrong one."""
        return bool((self.turned & ~self.left_out).any())

    @property
    def within_deg(self) -> float | None:
        """How far off the crank may be between the lowest and the highest speed, at 95 %.

        Never below what a light can be read to; None where fewer than three readings stand behind.
        """
        if self.line is None or not self.line.freedom:
            return None
        ends = [self.interval_at(rpm) for rpm in (self.low_rpm, self.top_rpm)]
        return max(float(np.abs(ends).max()), WORTH_DEG)

    @property
    def too_few(self) -> bool:
        return self.used < FEWEST

    @property
    def too_narrow(self) -> bool:
        """The speeds lie too close together to part an angle from a time."""
        return self.top_rpm < NARROWEST * self.low_rpm

    @property
    def offset_is(self) -> Literal["off", "right", "unsure"]:
        """Whether the reference angle is off, as far as these readings can tell."""
        return _judged(self.offset_deg, self.offset_interval_deg, 1.0)

    @property
    def delay_is(self) -> Literal["off", "right", "unsure"]:
        """Whether there is a delay that matters at the highest speed that was read."""
        return _judged(self.delay_us, self.delay_interval_us, DEG_PER_RPM_US * self.top_rpm)

    @property
    def state(self) -> State:
        if self.line is None or self.too_few or self.too_narrow or self.sign_in_doubt:
            return "cannot tell"
        if "off" in (self.offset_is, self.delay_is):
            return "correct"
        return "cannot tell" if "unsure" in (self.offset_is, self.delay_is) else "agrees"

    @property
    def exit_status(self) -> int:
        return {"agrees": 0, "correct": 1, "cannot tell": 3}[self.state]


def fit_readings(readings: Readings) -> Fit:
    """Fit the model to readings, after leaving out those that do not belong."""
    rpm, off = readings.rpm, readings.off
    left_out = outliers(rpm, off)
    kept = ~left_out
    turned = seem_turned(rpm, readings.commanded, readings.observed)
    return Fit(readings, left_out, fit_line(rpm[kept], off[kept]), turned)


def _judged(
    value: float | None, interval: tuple[float, float] | None, deg_per_unit: float
) -> Literal["off", "right", "unsure"]:
    """`off` where the interval leaves zero out and the value is worth a change."""
    if value is None or interval is None or not np.isfinite(interval).all():
        return "unsure"
    low, high = interval
    half_deg = 0.5 * (high - low) * deg_per_unit
    sure = low > 0.0 or high < 0.0
    if sure and abs(value) * deg_per_unit >= WORTH_DEG and half_deg <= UNSURE_DEG:
        return "off"
    return "right" if half_deg <= UNSURE_DEG else "unsure"
