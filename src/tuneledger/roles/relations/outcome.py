"""Where a sheet's corrections act, scheduled follows the map and delivered the outcome."""

from collections.abc import Sequence

import numpy as np

from tuneledger.calibrations.model import Calibration
from tuneledger.evaluate.replay import replay
from tuneledger.roles.evidence import SOUGHT, Evidence
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Role, Roles
from tuneledger.roles.relations.advance import Advances

_LIKELY = 0.5
_FEWEST_ROWS = 15
_MOST = 9.0


def weigh(evidence: Evidence, found: Advances, sheets: Sequence[Calibration]) -> None:
    """Add to each advance's lean what a replay says; the most telling sheet decides."""
    inputs = LogInputs(evidence.log, so_far(evidence), found.rows.times)
    best: dict[int, tuple[float, float]] = {}
    for sheet in sheets:
        played = replay(sheet, inputs)
        apart = np.abs(played.delivered - played.scheduled) > 1.0
        for channel, degrees in found.degrees.items():
            close = max(0.4, 1.01 * found.rows.step(channel))
            rows = apart & np.isfinite(degrees)
            if rows.sum() < _FEWEST_ROWS:
                continue
            as_map, as_outcome = (
                float((np.abs(part - degrees)[rows] <= close).mean())
                for part in (played.scheduled, played.delivered)
            )
            if max(as_map, as_outcome) > best.get(channel, (0.0, 0.0))[0]:
                best[channel] = (max(as_map, as_outcome), as_map - as_outcome)
    for channel, (_, ahead) in best.items():
        found.lean[channel] = found.lean.get(channel, 0.0) + _MOST * ahead
        if abs(ahead) > 0.5:
            whose = "the map" if ahead > 0 else "what the sheet makes of it"
            found.reason[channel] = f"stays with {whose} where the sheet's corrections act"


def so_far(evidence: Evidence) -> Roles:
    """The likely roles, good enough to replay a sheet by."""
    certain = evidence.certainties()
    roles: dict[str, Role] = {}
    if not evidence.facts:
        return Roles(roles)
    for j, signal in enumerate(SOUGHT):
        i = int(np.argmax(certain[:, j]))
        reading = evidence.readings.get((i, signal))
        if certain[i, j] >= _LIKELY and reading is not None:
            channel = evidence.facts[i].channel
            roles[signal] = Role(signal, channel, reading.unit, reading.scale, reading.offset)
    return Roles(roles)
