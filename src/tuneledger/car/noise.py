"""All the randomness of a drive, drawn before it starts, so that a seed fixes it."""

import math
from typing import ClassVar

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.car.engine import IDLE_NM


class Noise:
    """Sensor noise by name, knock bursts, and the loads that idle control has to fight."""

    SIZE: ClassVar[dict[str, float]] = {
        "rpm": 4.0,
        "map": 0.6,
        "throttle": 0.07,
        "small": 0.08,
        "oil": 4.0,
        "fuel": 2.5,
        "volts": 0.025,
        "lambda": 0.006,
        "slip": 0.15,
    }

    def __init__(
        self, rng: np.random.Generator, steps: int, dt: float, litres: float, knocks: float
    ) -> None:
        self._columns = {k: _wander(rng, steps, 3) * size for k, size in self.SIZE.items()}
        self._columns["slow"] = _wander(rng, steps, 600) * 3.0
        bursts = rng.exponential(0.03, steps) + _bursts(rng, steps, dt, knocks)
        self._columns["knock"] = bursts
        self._names = tuple(self._columns)
        self._rows = np.column_stack(list(self._columns.values())).tolist()
        # fan, alternator, pump and misfire: what an idle governor has to fight
        blocks = rng.normal(0.0, 1.0, steps // 180 + 2).repeat(180)[:steps]
        size = litres / 2.0
        self.extra = (size * (IDLE_NM + 2.2 * blocks + 1.5 * _wander(rng, steps, 25))).tolist()

    def at(self, i: int) -> dict[str, float]:
        return dict(zip(self._names, self._rows[i], strict=True))


def _wander(rng: np.random.Generator, steps: int, over: int) -> FloatArray:
    """Noise of unit size, smooth over so many steps."""
    raw = rng.normal(0.0, 1.0, steps + over)
    total = np.cumsum(raw)
    smooth = (total[over:] - total[:-over]) / math.sqrt(over)
    return np.asarray(smooth, dtype=np.float64)


def _bursts(rng: np.random.Generator, steps: int, dt: float, per_minute: float) -> FloatArray:
    out = np.zeros(steps)
    for start in rng.integers(0, steps, rng.poisson(per_minute * steps * dt / 60.0)):
        out[start : start + 12] += rng.uniform(0.8, 2.0)
    return out
