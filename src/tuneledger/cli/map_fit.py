"""How well a map reproduces the scheduled advance of a log."""

from pathlib import Path

import numpy as np

from tuneledger.calibrations.model import Calibration
from tuneledger.evaluate.replay import map_advance
from tuneledger.ledger.tolerance import slack, tolerance
from tuneledger.logs.steps import quantisation_step
from tuneledger.record import record
from tuneledger.roles.inputs import LogInputs
from tuneledger.supplied import open_supplied
from tuneledger.wording import degrees, listing, share

SCHEDULED = "scheduled advance"
MAP_AXES = (  # what main maps are laid over, common practice, no source
    "engine speed",
    "manifold absolute pressure",
    "throttle position",
    "engine load",
    "accelerator position",
)
GOOD = 0.9  # a map that reproduces so much of the log is the one that the log shows
AHEAD = 0.2  # so much more of the log than any other way is as good a sign


@record
class Fit:
    """A map laid beside the scheduled advance.

    within:  share of the usable samples that agree within the tolerance and the slope there
    rms_deg: of the differences; samples: usable ones; missing: inputs that the log lacks
    """

    within: float
    rms_deg: float
    samples: int
    missing: tuple[str, ...] = ()

    @property
    def says(self) -> str:
        if self.missing:
            return f"cannot be compared: the log carries no {listing(self.missing, 'or')}"
        if not self.samples:
            return "cannot be compared: no sample lies where the map is known"
        return (
            f"reproduces {share(self.within)} of {self.samples} samples, "
            f"{degrees(self.rms_deg, 2, signed=False)} rms"
        )


class MapFit:
    """A log, opened once, beside which maps can be laid."""

    def __init__(self, log_file: Path, roles_file: Path | None) -> None:
        self.log, self.roles = open_supplied([log_file], roles_file=roles_file).logs[0]

    @property
    def shows_scheduled(self) -> bool:
        """Whether there is something to lay a map beside."""
        return self.roles.get(SCHEDULED) is not None

    @property
    def axes(self) -> tuple[str, ...]:
        """Signals of this log over which a main map may be laid."""
        return tuple(signal for signal in MAP_AXES if self.roles.get(signal) is not None)

    def of(self, calibration: Calibration) -> Fit:
        """The fit of a calibration's main map."""
        role = self.roles.get(SCHEDULED)
        if role is None:
            return Fit(0.0, np.nan, 0, (SCHEDULED,))
        inputs = LogInputs(self.log, self.roles, self.log.times(role.channel))
        mapped, missing = map_advance(calibration, inputs)
        scheduled = role.read(self.log.values(role.channel))
        away = np.abs(scheduled - mapped)
        usable = np.isfinite(away)
        if missing or not usable.any():
            return Fit(0.0, np.nan, 0, missing)
        allowed = tolerance(quantisation_step(scheduled)) + slack(scheduled, mapped)
        return Fit(
            within=float(np.mean(away[usable] <= allowed[usable])),
            rms_deg=float(np.sqrt(np.mean(away[usable] ** 2))),
            samples=int(usable.sum()),
        )
