"""Readings made from a known offset and delay."""

from collections.abc import Sequence

import numpy as np

from tuneledger.light.readings import Readings


def readings(
    rpm: Sequence[float],
    *,
    offset: float = 0.0,
    delay_us: float = 0.0,
    commanded: float = 10.0,
    noise: Sequence[float] | float = 0.0,
    slips: dict[int, float] | None = None,
) -> Readings:
    """Readings at these speeds; `slips`: row (1 the first) → degrees by which it was misread."""
    speed = np.array(rpm, dtype=float)
    # 6 degrees per second and rpm, written out: a turn has 360 degrees, a minute 60 seconds
    late = speed * 360.0 / 60.0 * delay_us / 1e6
    observed = commanded + offset - late + np.asarray(noise)
    for row, slip in (slips or {}).items():
        observed[row - 1] += slip
    rows = np.arange(1, speed.size + 1)
    return Readings(
        "made.csv", speed, np.full(speed.size, commanded), observed, rows, rows + 1, NAMES
    )


NAMES = {"rpm": "rpm", "commanded": "commanded", "observed": "observed"}
