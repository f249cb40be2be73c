"""About how much torque an edit gives up that takes advance away: a range, from a published model.

The loss grows with the square of the distance from the advance of most torque, and nobody knows
from a log how far from it an engine runs. So the estimate has two ends: an engine that was at its
best, and one that was held well short of it already. None is given for an edit that adds advance:
what that gains or breaks no model of another engine can say.
"""

from itertools import product

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.evaluate.model import Inputs
from tuneledger.record import record
from tuneledger.torque import best_spark, crossley_cook
from tuneledger.wording import seconds

SOURCE = "Crossley and Cook, 1991"
# What the model is asked with: light and full charges of its engine, a stoichiometric mixture.
_AIR_G = (0.15, 0.30)
_AFR = 14.6
_SPEEDS = (100.0, 300.0)  # rad/s, its own range, for a log without engine speed
# So far short of their best turbocharged engines are held for knock: common practice, no source.
_SHORT_DEG = 15.0
_LEAST_DEG = 0.3  # smaller edits give up less than any of this can tell
_LEAST_S = 0.5


@record
class GivenUp:
    """Share of the torque given up where the edit moves under load, mean over that time.

    least: of an engine that was at its best timing; most: of one 15° short of it
    """

    least: float
    most: float
    seconds: float

    @property
    def says(self) -> str:
        return (
            f"estimate: for {seconds(self.seconds)} under load {_percent(self.least)} (of an "
            f"engine at its best timing) to {_percent(self.most)} (of one {_SHORT_DEG:.0f}° short "
            f"of it) of the torque is given up; by {SOURCE}, of a naturally aspirated engine of "
            "four cylinders: another one may lie outside"
        )


def given_up(moves: FloatArray, rows: BoolArray, inputs: Inputs, lasts: float) -> GivenUp | None:
    """The estimate for an edit; None where it adds advance anywhere, or takes next to nothing.

    moves: rehearsed − delivered in degrees per row, NaN where not known
    rows:  those that it moves under load, with a spark to speak of; lasts: their seconds
    """
    known = np.nan_to_num(moves)
    if lasts < _LEAST_S or (known > _LEAST_DEG).any():
        return None
    less = -known[rows]
    if not rows.any() or float(less.mean()) < _LEAST_DEG:
        return None
    speed = inputs.signal("engine speed", "rpm")
    if speed is not None and np.isfinite(speed[rows]).any():
        turning = [speed[rows] * 2.0 * np.pi / 60.0]
    else:
        turning = [np.full(less.shape, at) for at in _SPEEDS]
    losses = [
        float(np.nanmean(_loss(air, rad_s, less, short)))
        for air, short, rad_s in product(_AIR_G, (0.0, _SHORT_DEG), turning)
    ]
    return GivenUp(min(losses), max(losses), lasts)


def _loss(air_g: float, rad_s: FloatArray, less: FloatArray, short: float) -> FloatArray:
    """Share of the torque lost by taking `less` degrees, starting `short` of the best."""
    turning = np.clip(rad_s, *_SPEEDS)  # beyond, the polynomial is not asked
    start = best_spark(air_g, turning) - short
    before = crossley_cook(air_g, _AFR, start, turning)
    after = crossley_cook(air_g, _AFR, start - less, turning)
    return np.clip(1.0 - after / before, 0.0, 1.0)


def _percent(part: float) -> str:
    whole = 100.0 * part
    return f"{whole:.1f} %" if whole < 2.0 else f"{whole:.0f} %"
