"""Everything else that a logger writes down: channels that mean nothing for the spark.

Most of them rise together when the car accelerates, which is what makes them tempting.
"""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tuneledger.arrays import FloatArray
from tuneledger.car.drive import DT, Run
from tuneledger.car.torque import crank_degrees
from tuneledger.record import record

Columns = Mapping[str, FloatArray]
Make = Callable[[Columns, np.random.Generator], NDArray[Any]]


@record
class Distractor:
    """unit: canonical symbol; step: resolution in that unit; switch: on or off"""

    unit: str
    step: float
    make: Make
    switch: bool = False


def smooth(values: NDArray[Any], seconds: float) -> FloatArray:
    """A first-order lag, in blocks of 50 ms so that it costs next to nothing."""
    block = round(0.05 / DT)
    thin = values[::block]
    out = np.empty_like(thin)
    state, share = float(thin[0]), 0.05 / (seconds + 0.05)
    for i, value in enumerate(thin.tolist()):
        state += (value - state) * share
        out[i] = state
    at = np.arange(values.size)
    return np.asarray(np.interp(at, np.arange(thin.size) * block, out), dtype=np.float64)


def _noise(rng: np.random.Generator, like: FloatArray, size: float) -> FloatArray:
    return np.asarray(rng.normal(0.0, size, like.size), dtype=np.float64)


def _wheel(column: Columns, rng: np.random.Generator, side: float, driven: bool) -> FloatArray:
    v = column["vehicle speed"]
    turned = v * (1.0 + 0.012 * side * column["lateral"])
    turned = turned * (1.0 + column["slip"] / 100.0 * driven) + _noise(rng, v, 0.15) * (v > 1)
    return np.asarray(turned, dtype=np.float64)


def _heated(column: Columns, rng: np.random.Generator, base: float, gain: float) -> FloatArray:
    power = column["torque"].clip(0) * column["engine speed"] / 9549.0
    return base + smooth(power * gain, 8.0)


def _random_switch(column: Columns, rng: np.random.Generator) -> FloatArray:
    """On for one or two stretches, or never, at moments that have nothing to do with the drive."""
    n = column["engine speed"].size
    out = np.zeros(n)
    for _ in range(int(rng.integers(0, 3))):
        start = int(rng.integers(0, n))
        out[start : start + int(rng.integers(n // 40 + 1, n // 4 + 2))] = 1.0
    return out


def _steps(column: Columns, levels: int, rng: np.random.Generator) -> FloatArray:
    n = column["engine speed"].size
    cuts = np.sort(rng.integers(0, n, levels - 1))
    return np.asarray(np.searchsorted(cuts, np.arange(n), side="right"), dtype=np.float64)


def _count(column: Columns, per_second: float) -> FloatArray:
    at = np.arange(column["engine speed"].size) * DT
    return np.asarray(np.floor(at * per_second + 1e-9), dtype=np.float64)


DISTRACTORS: dict[str, Distractor] = {
    "exhaust temperature": Distractor("degC", 1.0, lambda c, r: c["exhaust temperature"]),
    "torque": Distractor("Nm", 1.0, lambda c, r: c["torque"]),
    "torque request": Distractor("Nm", 1.0, lambda c, r: c["accelerator position"] * 3.1 - 20.0),
    "brake": Distractor("bar", 0.1, lambda c, r: c["braking"] * 62 + _noise(r, c["braking"], 0.05)),
    "steer": Distractor("deg", 0.5, lambda c, r: c["lateral"] * 47 + _noise(r, c["lateral"], 0.6)),
    "yaw": Distractor("deg/s", 0.1, lambda c, r: c["lateral"] * 19 + _noise(r, c["lateral"], 0.2)),
    "lateral": Distractor("g", 0.01, lambda c, r: c["lateral"]),
    "acceleration": Distractor("g", 0.01, lambda c, r: c["acceleration"]),
    "altitude": Distractor("m", 1.0, lambda c, r: 312.0 + c["climbed"]),
    "turbo speed": Distractor(
        "rpm", 100.0, lambda c, r: 9000 + 950 * smooth(c["boost"], 0.3) + 4 * c["engine speed"]
    ),
    "wastegate": Distractor("%", 0.5, lambda c, r: smooth(c["boost"] * 0.5, 0.4)),
    "boost target": Distractor(
        "kPa", 1.0, lambda c, r: 100 + c["accelerator position"].clip(20) * 1.1 - 22
    ),
    "airbox": Distractor(
        "kPa", 0.1, lambda c, r: c["barometric pressure"] + 3e-5 * c["vehicle speed"] ** 2
    ),
    "air flow": Distractor("g/s", 0.1, lambda c, r: c["engine load"] * c["engine speed"] * 2.1e-4),
    "injection time": Distractor(
        "ms", 0.01, lambda c, r: (0.9 + c["engine load"] * 0.075) * (1 - c["fuel cut"])
    ),
    "injector duty": Distractor(
        "%", 0.5, lambda c, r: c["engine load"] * c["engine speed"] * 6.2e-5 * (1 - c["fuel cut"])
    ),
    "dwell angle": Distractor(
        "deg",
        0.1,
        lambda c, r: crank_degrees(
            c["engine speed"], 0.0029 - 0.00019 * (c["module voltage"] - 13.0)
        ),
    ),
    "dwell": Distractor("ms", 0.01, lambda c, r: 2.9 - 0.19 * (c["module voltage"] - 13.0)),
    "cam in": Distractor("deg", 0.1, lambda c, r: smooth(c["engine load"] * 0.31, 0.15)),
    "cam out": Distractor("deg", 0.1, lambda c, r: -smooth(c["engine speed"] * 0.0028, 0.2)),
    "throttle 2": Distractor(
        "%", 0.1, lambda c, r: c["throttle position"] + 0.4 + _noise(r, c["slip"], 0.08)
    ),
    "throttle target": Distractor("%", 0.1, lambda c, r: c["accelerator position"]),
    "pedal 2": Distractor("%", 0.1, lambda c, r: c["accelerator position"] * 0.5),
    "speed slow": Distractor("rpm", 50.0, lambda c, r: smooth(c["engine speed"], 0.35)),
    "speed gps": Distractor("km/h", 0.1, lambda c, r: smooth(c["vehicle speed"], 0.25)),
    "wheel fl": Distractor("km/h", 0.1, lambda c, r: _wheel(c, r, 1.0, False)),
    "wheel fr": Distractor("km/h", 0.1, lambda c, r: _wheel(c, r, -1.0, False)),
    "wheel rl": Distractor("km/h", 0.1, lambda c, r: _wheel(c, r, 1.0, True)),
    "wheel rr": Distractor("km/h", 0.1, lambda c, r: _wheel(c, r, -1.0, True)),
    "shaft": Distractor("rpm", 1.0, lambda c, r: c["vehicle speed"] * 34.0),
    "exhaust 1": Distractor("degC", 1.0, lambda c, r: c["exhaust temperature"] * 1.02 + 6),
    "exhaust 2": Distractor("degC", 1.0, lambda c, r: c["exhaust temperature"] * 0.97 - 4),
    "knock 1": Distractor("V", 0.01, lambda c, r: c["knock level"] * 1.1 + 0.05),
    "knock 2": Distractor("V", 0.01, lambda c, r: c["knock level"] * 0.8 + 0.02),
    "crankcase": Distractor(
        "kPa", 0.1, lambda c, r: c["barometric pressure"] - 1.5 + 0.02 * c["engine load"]
    ),
    "charge cooler": Distractor(
        "degC", 0.5, lambda c, r: smooth(c["intake air temperature"], 6.0) - 3.0
    ),
    "board temp": Distractor("degC", 0.5, lambda c, r: _heated(c, r, 38.0, 0.03)),
    "outside temp": Distractor(
        "degC", 0.5, lambda c, r: np.full(c["slip"].size, c["intake air temperature"].min() - 2)
    ),
    "gearbox temp": Distractor("degC", 0.5, lambda c, r: _heated(c, r, 52.0, 0.08)),
    "disc fl": Distractor("degC", 1.0, lambda c, r: 60 + smooth(c["braking"] * 900, 4.0)),
    "tyre fl": Distractor("bar", 0.01, lambda c, r: 1.6 + smooth(c["vehicle speed"], 20) * 1e-3),
    "tyre rr": Distractor("bar", 0.01, lambda c, r: 1.5 + smooth(c["vehicle speed"], 25) * 1e-3),
    "damper fl": Distractor("mm", 0.1, lambda c, r: 22 - 8 * c["acceleration"] + 5 * c["lateral"]),
    "damper rr": Distractor("mm", 0.1, lambda c, r: 24 + 9 * c["acceleration"] - 5 * c["lateral"]),
    "fuel level": Distractor("l", 0.5, lambda c, r: 31.0 - np.cumsum(c["engine load"]) * 2e-7),
    "fuel used": Distractor("l", 0.001, lambda c, r: np.cumsum(c["engine load"]) * 2e-7),
    "current": Distractor("A", 0.5, lambda c, r: 60 * (c["module voltage"] - 13.5)),
    "alternator": Distractor("%", 0.5, lambda c, r: 35 + 22 * c["fan"] + _noise(r, c["fan"], 1.0)),
    "idle valve": Distractor(
        "%", 0.5, lambda c, r: smooth(30 * (c["accelerator position"] < 1), 0.5)
    ),
    "fuel trim": Distractor("%", 0.1, lambda c, r: smooth(_noise(r, c["slip"], 9.0), 1.0)),
    "mode": Distractor("", 1.0, lambda c, r: _steps(c, 2, r) + 1),
    "lap": Distractor("", 1.0, lambda c, r: _steps(c, 3, r)),
    "frame": Distractor("", 1.0, lambda c, r: _count(c, 50.0) % 256),
    "errors": Distractor("", 1.0, lambda c, r: np.zeros(c["slip"].size)),
    "sync loss": Distractor("", 1.0, lambda c, r: np.full(c["slip"].size, 1.0)),
    "cpu": Distractor("%", 1.0, lambda c, r: 32 + c["engine speed"] / 250 + _noise(r, c["fan"], 2)),
    "serial": Distractor("", 1.0, lambda c, r: np.full(c["slip"].size, 7093.0)),
    "clutch": Distractor("", 1.0, lambda c, r: c["clutch"], switch=True),
    "fan": Distractor("", 1.0, lambda c, r: c["fan"], switch=True),
    "crank": Distractor("", 1.0, lambda c, r: c["crank"], switch=True),
    "brake light": Distractor("", 1.0, lambda c, r: (c["braking"] > 0.02) * 1.0, switch=True),
    "wiper": Distractor("", 1.0, _random_switch, switch=True),
    "lamp": Distractor("", 1.0, _random_switch, switch=True),
    "pump 2": Distractor("", 1.0, lambda c, r: (c["engine load"] > 90) * 1.0, switch=True),
    "radio": Distractor("", 1.0, _random_switch, switch=True),
}


def add(run: Run, keys: list[str], seed: int) -> None:
    """Put those channels beside what the car measured, each from a seed of its own."""
    for key in keys:
        if key not in run.columns:
            number = list(DISTRACTORS).index(key)
            rng = np.random.default_rng((seed, number))
            made = DISTRACTORS[key].make(run.columns, rng)
            run.columns[key] = np.asarray(made, dtype=np.float64)
