"""Main maps for vehicles of our own: smooth, rounded, a little uneven as if done by hand."""

from typing import Any

import numpy as np

from tuneledger.car.vehicle import Vehicle
from tuneledger.units import conversion

Random = np.random.Generator


def advance(load: float, rpm: float, v: Vehicle) -> float:
    """A believable advance: load is manifold pressure over the outside air, 0.2 to 2.5."""
    speed = min(max((rpm - v.idle) / (0.55 * v.redline), 0.0), 1.3)
    base = 13.0 + 22.0 * (1.0 - np.exp(-2.4 * speed))
    pulled = 11.5 * max(load - 0.45, 0.0) ** 0.8
    if rpm < 1.4 * v.idle:
        base = min(base, 14.0)
    return float(max(base - pulled, 3.0))


def random_map(rng: Random, v: Vehicle, style: str | None = None) -> dict[str, Any]:
    """The `[spark.map]` of a sheet: over pressure, load or throttle, and engine speed."""
    style = style or str(rng.choice(["pressure", "pressure", "pressure", "load", "throttle"]))
    if style == "throttle" and v.turbo:
        style = "pressure"
    speeds = _speeds(rng, v)
    top = 1.0 + v.boost_kpa / 98.0
    if style == "pressure":
        loads = np.linspace(0.26, top * 1.02, int(rng.integers(5, 9)))
        points, axis = loads * 98.0, {"signal": "manifold absolute pressure", "unit": "kPa"}
    elif style == "load":
        loads = np.linspace(0.2, top * 1.03, int(rng.integers(5, 9)))
        points, axis = loads * 95.0, {"signal": "engine load", "unit": "%"}
    else:
        points = np.array([0.0, 4.0, 12.0, 25.0, 45.0, 70.0, 100.0])[: int(rng.integers(5, 8))]
        loads = 0.3 + 0.7 * np.sqrt(points / 100.0)
        axis = {"signal": "throttle position", "unit": "%"}
    at = sorted({float(p) for p in np.round(points / 5.0) * 5.0})
    while len(at) < len(loads):
        at.append(at[-1] + 5.0)
    if style == "pressure" and rng.random() < 0.2:
        axis = axis | {"unit": "bar"}
        at = [round(p / 100.0, 2) for p in at]
    cells = [[_cell(rng, load, n, v) for n in speeds] for load in loads.tolist()]
    axes = [axis | {"at": at}, {"signal": "engine speed", "unit": "rpm", "at": speeds}]
    if rng.random() < 0.25:  # some write speed first
        return {"axes": axes[::-1], "values": [list(row) for row in zip(*cells, strict=True)]}
    return {"axes": axes, "values": cells}


def _speeds(rng: Random, v: Vehicle) -> list[float]:
    count = int(rng.integers(6, 11))
    share = np.linspace(0.0, 1.0, count) ** rng.uniform(1.0, 1.4)
    raw = 0.7 * v.idle + share * (v.redline - 0.7 * v.idle)
    return [float(s) for s in np.round(raw / 50.0) * 50.0]


def _cell(rng: Random, load: float, rpm: float, v: Vehicle) -> float:
    return round(2.0 * (advance(load, rpm, v) + float(rng.normal(0.0, 0.4)))) / 2.0


def changed(
    rng: Random, the_map: dict[str, Any], at: tuple[float, float], by: float, width: int = 1
) -> dict[str, Any]:
    """The map with the cells around one operating point (in axis units) moved by so much."""
    near = [
        int(np.argmin(np.abs(np.array(axis["at"]) - x)))
        for axis, x in zip(the_map["axes"], at, strict=True)
    ]
    values = [list(row) for row in the_map["values"]]
    for i in range(max(0, near[0] - width), min(len(values), near[0] + width + 1)):
        for j in range(max(0, near[1] - width), min(len(values[0]), near[1] + width + 1)):
            rim = i != near[0] or j != near[1]
            values[i][j] = round(2.0 * (values[i][j] + by * (0.8 if rim else 1.0))) / 2.0
    return the_map | {"values": values}


def in_axis_unit(axis: dict[str, Any], own: str, value: float) -> float:
    """A number in a signal's own unit, in the unit of that axis."""
    scale, offset = conversion(own, axis["unit"]) or (1.0, 0.0)
    return scale * value + offset
