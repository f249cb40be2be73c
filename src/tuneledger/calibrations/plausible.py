"""Numbers in a sheet that no engine is given: a slip of the finger, or a placeholder.

An advance of an engine lies within −60° to 80° before top dead centre, and no correction takes or
adds more than 60°: common practice, no source. SAE J1979 can show −64° to 63.5°. A sheet may hold
such a number all the same, so that it is told, not refused.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration
from tuneledger.record import record
from tuneledger.wording import degrees

INSTEAD = 'Write the number that is meant, or "?" where nobody knows it.'
LOWEST_DEG, HIGHEST_DEG, MOST_ADDED_DEG = -60.0, 80.0, 60.0


@record
class Beyond:
    """A number beyond what can be: the path to it, and its degrees; `adds`: it is added."""

    path: str
    degrees: float
    adds: bool

    @property
    def says(self) -> str:
        """Why it can hardly be meant."""
        return f"{degrees(self.degrees, signed=self.adds)} can hardly be meant: {can(self.adds)}"

    @property
    def briefly(self) -> str:
        """Where it stands and that it can hardly be meant, in a line."""
        number = degrees(self.degrees, signed=self.adds)
        return f"{self.path}: {number} can hardly be meant, no engine is given that"

    @property
    def expected(self) -> str:
        low, high = (-MOST_ADDED_DEG, MOST_ADDED_DEG) if self.adds else (LOWEST_DEG, HIGHEST_DEG)
        return f"a number from {degrees(low, 0)} to {degrees(high, 0, signed=False)}"


def can(adds: bool) -> str:
    """What the degrees of a correction that adds, or of all else, can be, in words."""
    if adds:
        return f"no correction takes or adds more than {MOST_ADDED_DEG:g}°"
    low, high = degrees(LOWEST_DEG, 0), degrees(HIGHEST_DEG, 0)
    return f"no engine is given less than {low} or more than {high}"


def beyond(calibration: Calibration) -> Iterator[Beyond]:
    """Every such number of a sheet's map and corrections, in their order."""
    spark = calibration.spark
    whole = (LOWEST_DEG, HIGHEST_DEG)
    yield from _of(spark.map.grid, "spark.map", whole, adds=False)
    for index, correction in enumerate(spark.correction):
        if not correction.has_numbers:
            continue
        adds = correction.effect == "add"
        span = (-MOST_ADDED_DEG, MOST_ADDED_DEG) if adds else whole
        yield from _of(correction.grid, f"spark.correction[{index}]", span, adds=adds)


def _of(grid: FloatArray, path: str, span: tuple[float, float], *, adds: bool) -> Iterator[Beyond]:
    with np.errstate(invalid="ignore"):
        off = (grid < span[0]) | (grid > span[1])
    for place in np.argwhere(off):
        where = "".join(f"[{i}]" for i in place)
        own = f"{path}.values{where}" if grid.ndim else f"{path}.amount"
        yield Beyond(own, float(grid[tuple(place)]), adds)
