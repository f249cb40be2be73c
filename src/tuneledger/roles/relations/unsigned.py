"""An advance whose channel may hold nothing below zero: told where a sheet goes below it.

A retard beyond top dead centre is then logged as 0°. An ECU with a lowest advance of 0° looks the
same, so that nothing is changed.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.calibrations.model import Calibration
from tuneledger.evaluate.replay import replay
from tuneledger.roles.evidence import Evidence
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.relations.advance import DELIVERED, SCHEDULED
from tuneledger.roles.relations.outcome import so_far
from tuneledger.wording import count, quantity

_FEWEST, _SHARE = 20, 0.9
_BELOW_DEG = 1.0


def weigh(evidence: Evidence, sheets: Sequence[Calibration]) -> None:
    """Note that delivered rests at its lowest, 0°, where a sheet would have it below."""
    roles = so_far(evidence)
    role = roles.get(DELIVERED)
    if role is None or not sheets or role.scale < 0:
        return
    sample = role.read(evidence.log.sample(role.channel))
    if not np.isfinite(sample).any() or np.nanmin(sample) != 0.0:
        return
    inputs = LogInputs(evidence.log, roles, evidence.log.times(role.channel))
    given = role.read(evidence.log.values(role.channel))
    rests = given == 0.0
    if np.nanmin(given) < 0.0 or rests.sum() < _FEWEST:
        return
    start = inputs.signal(SCHEDULED, "deg")
    for sheet in sheets:
        below = replay(sheet, inputs, start=start).delivered[rests]
        low = below[below < -_BELOW_DEG]
        if low.size >= max(_FEWEST, _SHARE * below.size):
            evidence.notes.insert(
                0,
                f"{role.channel.name} stands at 0°, its lowest, in "
                f"{count(int(rests.sum()), 'sample')} in which revision {sheet.revision} gives "
                f"{quantity(round(float(np.median(low)), 1), 'deg')}: a channel that holds nothing "
                "below zero would look so, and so would a lowest advance of 0°; the raw number, or "
                "a timing light, tells",
            )
            return
