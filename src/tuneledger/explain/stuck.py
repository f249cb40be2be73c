"""A channel that never changes where a sheet reads it: a stuck sensor, or a value in its place.

The sheet is then worked out with one number all through, and what the ECU knew better is left over.
Only what moves in any drive is told: a gear, an idle target or the outside air may well stand.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.calibrations.model import readings
from tuneledger.explain.finding import Finding
from tuneledger.roles.model import Role
from tuneledger.wording import listing, quantity, seconds

# Seconds of a drive in which each surely moves by a step of its logger. Judgement: a thermostat
# holds coolant and oil for minutes, intake air follows the throttle.
_MOVES_WITHIN_S = {
    "engine speed": 10.0,
    "manifold absolute pressure": 10.0,
    "engine load": 10.0,
    "throttle position": 10.0,
    "accelerator position": 10.0,
    "vehicle speed": 20.0,
    "intake air temperature": 45.0,
    "module voltage": 120.0,
    "engine coolant temperature": 600.0,
    "oil temperature": 600.0,
}
_DRIVEN_RPM = 1000.0


def stuck(findings: Sequence[Finding]) -> list[str]:
    """A note on each channel that stands all through a drive and that a sheet reads."""
    return list(dict.fromkeys(note for finding in findings for note in _in(finding)))


def _in(finding: Finding) -> Iterator[str]:
    book = finding.book
    lasts = float(np.ptp(book.times)) if book.times.size else 0.0
    for signal, within in _MOVES_WITHIN_S.items():
        role, names = book.roles.get(signal), _read_by(finding, signal)
        if role is None or not names or lasts < within:
            continue
        values = book.log.values(role.channel)
        own = values[np.isfinite(values)]
        if own.size < 2 or own.min() < own.max() or not _driven(finding, role):
            continue
        stands = quantity(float(own[0]), role.channel.unit)
        yield (
            f"{role.channel.name} never changes ({stands}) in a drive of {seconds(lasts)}, and "
            f"{listing(names)} of the sheet reads it as {signal}: a stuck sensor or a value put in "
            "its place would look so; what comes out of it is not to be trusted"
        )


def _driven(finding: Finding, stands: Role) -> bool:
    """Whether engine speed moves as in a drive; where it is what stands, whether delivered does."""
    if stands.signal == "engine speed":
        return float(np.nanmax(finding.book.delivered) - np.nanmin(finding.book.delivered)) > 5.0
    speed = finding.book.inputs.signal("engine speed", "rpm")
    if speed is None or not np.isfinite(speed).any():
        return False
    return float(np.nanmax(speed) - np.nanmin(speed)) > _DRIVEN_RPM


def _read_by(finding: Finding, signal: str) -> list[str]:
    """What of the sheets reads a signal: the map, and corrections that are switched on."""
    names: dict[str, None] = {}
    for sheet in finding.laid:
        spark = sheet.calibration.spark
        parts = [("the map", spark.map), *((c.called, c) for c in spark.correction if c.enabled)]
        for name, part in parts:
            if any(signal in (r.signal, r.minus, r.over) for r in readings(part)):
                names[name] = None
    return list(names)
