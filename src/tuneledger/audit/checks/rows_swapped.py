"""Two rows of the map in each other's place

**What it finds.** Two neighbouring points of a load axis (manifold pressure, load, throttle, pedal)
of which the higher load holds more advance: nowhere less, 1° more on average, and yet no more
than the load before both, and the lower no less than the load after them. Swapped, they stand in
order.

**Why it matters.** More load fills the cylinder more; the mixture burns faster and knocks sooner,
so that a map asks for less advance (Heywood 1988, chapters 9 and 15). Between two rows in each
other's place the engine gets more advance just where it bears less.

**Example.** 27° at 80 kPa, 22° at 110 kPa, 25° at 150 kPa, 19° at 200 kPa, at every speed alike.

**What to do.** Compare the rows with an earlier revision, and swap them back.

**When to ignore it.** A map around a change of cam or runner may do so on purpose. The first row of
a map often holds less than the second, and is left alone.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.audit.model import Said
from tuneledger.audit.phrases import on_axis, reading_name
from tuneledger.audit.sheet import Audited
from tuneledger.wording import degrees

LOADS = (
    "manifold absolute pressure",
    "engine load",
    "throttle position",
    "accelerator position",
)
LEAST_DEG = 1.0


def check(sheet: Audited) -> Iterator[Said]:
    """Neighbours along a load axis that would stand in order the other way round."""
    table = sheet.calibration.spark.map
    for number, axis in enumerate(table.axes):
        if axis.signal not in LOADS or axis.minus or axis.over or axis.rate:
            continue
        rows = np.moveaxis(table.grid, number, 0)
        for i in range(1, len(rows) - 1):
            if _swapped(rows, i):
                more = float(np.max(rows[i + 1] - rows[i]))
                yield Said(
                    "fault",
                    ("spark.map", f"spark.map.axes[{number}]"),
                    f"The map holds up to {degrees(more, signed=False)} more advance at "
                    f"{on_axis(axis.at[i + 1], axis)} of {reading_name(axis)} than at "
                    f"{on_axis(axis.at[i], axis)}, in no cell less: the two look swapped.",
                    "Compare them with an earlier revision, and swap them back.",
                    more,
                )


def _swapped(rows: FloatArray, i: int) -> bool:
    """False where a cell is not known."""
    lower, higher = rows[i], rows[i + 1]
    turned = bool((higher >= lower).all() and (higher - lower).mean() >= LEAST_DEG)
    after = i + 2 == len(rows) or bool((lower >= rows[i + 2]).all())
    return turned and after and bool((rows[i - 1] >= higher).all())
