"""Full samples of the few channels that the finer relations look at, on common rows."""

from dataclasses import dataclass, field

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.logs.steps import quantisation_step
from tuneledger.roles.evidence import Evidence

_MOST_ROWS = 12000


@dataclass(eq=False)
class Rows:
    """Channels on the rows of one group, every so-many-th row of a long log.

    every: rows of the log per row here
    """

    evidence: Evidence
    group: int
    every: int = 1
    _raw: dict[int, FloatArray] = field(default_factory=dict)
    _steps: dict[int, float] = field(default_factory=dict)

    @classmethod
    def around(cls, evidence: Evidence, channel: int) -> "Rows":
        """The rows of a channel's group."""
        group = evidence.facts[channel].channel.group
        size = evidence.log.groups[group].times.size
        return cls(evidence, group, max(1, -(-size // _MOST_ROWS)))

    @property
    def times(self) -> FloatArray:
        return self.evidence.log.groups[self.group].times[:: self.every]

    def raw(self, channel: int) -> FloatArray:
        """The channel's numbers; a slower channel is joined by straight lines."""
        if channel not in self._raw:
            log, own = self.evidence.log, self.evidence.facts[channel].channel
            if own.group == self.group and np.isfinite(log.values(own)).mean() > 0.95:
                self._raw[channel] = log.values(own)[:: self.every]
            else:
                self._raw[channel] = log.series(own).on(self.times)
        return self._raw[channel]

    def signal(self, channel: int, signal: str) -> FloatArray:
        """The channel read as a signal, in the signal's own unit."""
        reading = self.evidence.readings.get((channel, signal))
        raw = self.raw(channel)
        return raw if reading is None else raw * reading.scale + reading.offset

    def step(self, channel: int, scale: float = 1.0) -> float:
        """In which steps the channel counts, 0 where in none."""
        if channel not in self._steps:
            found = quantisation_step(self.evidence.facts[channel].thin)
            self._steps[channel] = found or 0.0
        return self._steps[channel] * abs(scale)
