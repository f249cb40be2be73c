"""Made-up drives with known channels, for measuring how well channels are identified.

A light engine and car on a straight road: idle, pulls through the gears, lifts, cruising, stops.
Good enough that every channel looks like itself and moves with the others; not a model of anything.
Written without a look at how `roles` decides. Numbers are common practice, no source.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.random import Generator
from scipy.signal import lfilter

from tuneledger.arrays import FloatArray

DT = 0.02


@dataclass
class Drive:
    """quantities: name → (values at `times`, unit). A quantity named as a signal is that signal."""

    times: FloatArray
    quantities: dict[str, tuple[FloatArray, str]] = field(default_factory=dict)
    axes: tuple[str, str] = ("manifold absolute pressure", "engine speed")
    points: tuple[tuple[float, ...], tuple[float, ...]] = ((), ())
    table: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))
    hidden: dict[str, FloatArray] = field(default_factory=dict)
    turbo: bool = False
    redline: float = 7000.0
    baro: float = 100.0

    def of(self, name: str) -> FloatArray:
        return self.quantities[name][0]

    def put(self, name: str, unit: str, values: FloatArray, step: float = 0.0) -> None:
        values = np.broadcast_to(np.asarray(values, dtype=float), self.times.shape)
        rounded = np.round(values / step) * step if step else values
        self.quantities[name] = (np.round(rounded, 6) + 0.0, unit)


def smooth(values: FloatArray, seconds: float) -> FloatArray:
    """First-order lag."""
    share = min(1.0, DT / max(seconds, DT))
    start = np.array([(1 - share) * values[0]])
    out, _ = lfilter([share], [1.0, share - 1.0], values, zi=start)
    return np.asarray(out)


def _pedal(rng: Generator, seconds: float) -> FloatArray:
    """What the foot does: 0 to 100."""
    out: list[float] = []
    need = int(seconds / DT)
    out += [0.0] * int(rng.uniform(2, 8) / DT)
    while len(out) < need:
        kind = rng.choice(
            ["pull", "cruise", "lift", "stop", "blip", "full"], p=[0.25, 0.25, 0.2, 0.1, 0.1, 0.1]
        )
        span = int(rng.uniform(1.0, 7.0) / DT)
        level = {
            "pull": rng.uniform(40, 90),
            "cruise": rng.uniform(8, 35),
            "lift": 0.0,
            "stop": 0.0,
            "blip": rng.uniform(20, 60),
            "full": 100.0,
        }[str(kind)]
        if kind == "stop":
            span *= 3
        if kind == "blip":
            span = int(0.4 / DT)
        wander = level + (rng.normal(0, 1.5, span).cumsum() * 0.15 if level else 0.0)
        out += list(np.clip(np.broadcast_to(wander, (span,)), 0, 100))
    return smooth(np.array(out[:need]), 0.12)


def _run(
    rng: Generator, pedal: FloatArray, *, turbo: bool, idle: float, redline: float, baro: float
) -> dict[str, FloatArray]:
    """Speed, gear, engine speed and manifold pressure from the pedal."""
    ratios = np.array([0, 125, 80, 58, 45, 36]) * rng.uniform(0.85, 1.15)
    n = pedal.size
    rpm, speed, gear, pressure, throttle = (np.zeros(n) for _ in range(5))
    r, v, g, p, shift, th = idle, 0.0, 0, 35.0, 0.0, 0.0
    hunt = smooth(rng.normal(0, 1, n), 0.5) * rng.uniform(80, 250)
    for i in range(n):
        foot = pedal[i]
        th += (foot - th) * 0.35
        full = baro * (0.30 + 0.70 * (th / 100) ** 0.55 / (1 + 0.35 * r / redline * (1 - th / 100)))
        target = full + (120.0 * (th / 100) ** 2 * min(1.0, r / 3200) if turbo else 0.0)
        target -= 10.0 * (r / redline) * (th < 2)
        p += (target - p) * (0.05 if turbo and target > baro else 0.3)
        if g == 0 and foot > 6 and shift <= 0:
            g = 1
        if shift > 0:
            shift -= DT
            r += (max(idle, v * ratios[g]) - r) * 0.2
        elif g:
            locked = v * ratios[g]
            pull = (p - 33) / 100 * (5.5 if turbo else 7.0) * ratios[g] / 60 - 0.4 - 0.00035 * v * v
            if foot < 1 and v > 0:
                pull -= 2.0
            v = max(0.0, v + pull * DT * 3.6 * 0.8)
            r += (max(locked, idle if foot < 5 else idle + 18 * foot) - r) * 0.3
            if locked > redline * 0.93 and g < 5:
                g, shift = g + 1, 0.25
            elif locked < redline * 0.28 and g > 1:
                g, shift = g - 1, 0.25
            if v < 4 and foot < 1:
                g = 0
        else:
            v = max(0.0, v - 4 * DT)
            r += (idle + hunt[i] * 0.5 + 40 * foot - r) * 0.08
        rpm[i], speed[i], gear[i], pressure[i], throttle[i] = r, v, g, p, th
    return {"rpm": rpm, "speed": speed, "gear": gear, "pressure": pressure, "throttle": throttle}


def _look_up(
    table: FloatArray, points: tuple[FloatArray, FloatArray], one: FloatArray, other: FloatArray
) -> FloatArray:
    from scipy.interpolate import RegularGridInterpolator

    surface = RegularGridInterpolator(points, table)
    held = [np.clip(v, p[0], p[-1]) for v, p in zip((one, other), points, strict=True)]
    return np.asarray(surface(np.column_stack(held)))


def _map(
    rng: Generator, over: str, turbo: bool, redline: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    load = np.array([25, 45, 70, 100, 140, 190, 230.0] if turbo else [25, 40, 55, 70, 85, 103.0])
    if over == "throttle position":
        load = np.array([0, 4, 10, 22, 40, 65, 100.0])
    if over == "engine load":
        load = load * 0.85
    speed = np.round(np.linspace(500, redline, int(rng.integers(7, 12))), -2)
    share = (load - load[0]) / (load[-1] - load[0])
    base = rng.uniform(26, 34) + rng.uniform(4, 9) * np.log(np.maximum(speed, 700) / 3000)[None, :]
    fall = rng.uniform(14, 22) * share[:, None] ** 0.8
    low = -12.0 * np.clip((1500 - speed) / 1000, 0, 1)[None, :] * (1 - share[:, None])
    table = base - fall + low + rng.normal(0, 0.7, (load.size, speed.size))
    return np.round(table * 2) / 2, load, speed


def drive(seed: int, seconds: float = 60.0) -> Drive:
    """One drive, everything about it drawn from the seed."""
    rng = np.random.default_rng(seed)
    turbo = bool(rng.random() < 0.6)
    idle = float(rng.choice([700, 750, 800, 850, 900, 950, 1050]))
    redline = float(rng.choice([6000, 6500, 7000, 7400, 8200]))
    baro = float(rng.uniform(82, 103))
    pedal = _pedal(rng, seconds)
    run = _run(rng, pedal, turbo=turbo, idle=idle, redline=redline, baro=baro)
    t = np.arange(pedal.size) * DT
    d = Drive(t)

    def noise(size: float) -> FloatArray:
        return rng.normal(0, size, t.size)

    rpm = np.maximum(run["rpm"] + noise(6), 0)
    d.put("engine speed", "rpm", rpm, 1)
    pressure = np.maximum(run["pressure"] + noise(0.5), 8)
    d.put("manifold absolute pressure", "kPa", pressure, 0.1)
    throttle = np.clip(run["throttle"] + noise(0.08), -0.5, 100.5)
    d.put("throttle position", "%", throttle, 0.1)
    d.put("accelerator position", "%", np.clip(pedal + noise(0.1), -0.4, 100.4), 0.1)
    d.put("vehicle speed", "km/h", np.maximum(run["speed"] + noise(0.1), 0), 0.1)
    d.put("gear", "", run["gear"], 1)
    d.put("barometric pressure", "kPa", baro + noise(0.05), 0.1)
    load = pressure / baro * 100 * (0.82 + 0.18 * np.sin(rpm / redline * 3)) * 0.95
    d.put("engine load", "%", load + noise(0.4), 0.1)
    _temperatures(d, rng, t, pressure)
    oil = d.of("oil temperature")
    d.put(
        "oil pressure",
        "kPa",
        np.clip(120 + rpm * 0.075, 0, 560) * (1 - 0.002 * (oil - 90)) + noise(4),
        0.1,
    )
    d.put(
        "fuel pressure", "kPa", 300 + (pressure - baro if rng.random() < 0.6 else 0) + noise(2), 0.1
    )
    d.put("module voltage", "V", rng.uniform(13.4, 14.3) - 0.25 * (rpm < 1100) + noise(0.03), 0.01)
    d.put("ethanol content", "%", rng.choice([5.0, 10.0, 48.0, 85.0]) + smooth(noise(0.3), 1), 0.1)
    cold = np.clip((70 - d.of("engine coolant temperature")) / 50, 0, 1)
    aim = np.round((idle + 400 * cold) / 10) * 10
    d.put("idle speed target", "rpm", aim, 10)
    lam_aim = np.where(pressure > 0.92 * baro, rng.uniform(0.8, 0.9), 1.0)
    d.put("commanded lambda", "", smooth(lam_aim, 0.2), 0.001)
    burnt = np.where((pedal < 1) & (rpm > 2200), rng.uniform(1.3, 2.0), lam_aim)
    d.put("measured lambda", "", smooth(burnt, 0.35) + noise(0.006), 0.001)
    d.put("knock level", "V", 0.3 + rpm / redline * 1.1 + np.abs(noise(0.08)), 0.01)
    _advance(d, rng, turbo=turbo, redline=redline, baro=baro, idle=idle)
    d.hidden = {"pedal": pedal, "road": run["speed"], "gear": run["gear"]}
    d.turbo, d.redline, d.baro = turbo, redline, baro
    return d


def _temperatures(d: Drive, rng: Generator, t: FloatArray, pressure: FloatArray) -> None:
    outside = float(rng.uniform(-5, 35))
    cold = rng.random() < 0.3
    coolant = rng.uniform(83, 96) + smooth(rng.normal(0, 3, t.size), 8)
    oil = (
        rng.uniform(80, 112) + smooth(rng.normal(0, 2, t.size), 15) + t / t[-1] * rng.uniform(-1, 6)
    )
    if cold:
        start = outside + rng.uniform(0, 25)
        coolant = start + (coolant - start) * (1 - np.exp(-t / rng.uniform(60, 200)))
        oil = start + (oil - start) * (1 - np.exp(-t / rng.uniform(150, 400)))
    air = outside + rng.uniform(4, 20) + smooth((pressure - 60) * rng.uniform(0.03, 0.2), 6.0)
    step = float(rng.choice([0.1, 0.5, 1.0]))
    d.put("engine coolant temperature", "degC", coolant, step)
    d.put("oil temperature", "degC", oil, step)
    d.put("intake air temperature", "degC", air, step)
    d.put("fuel temperature", "degC", outside + rng.uniform(3, 20) + t / t[-1], step)
    d.put("x ambient temperature", "degC", outside + 0 * t, step)


def _advance(
    d: Drive, rng: Generator, *, turbo: bool, redline: float, baro: float, idle: float
) -> None:
    t = d.times
    over = str(
        rng.choice(
            ["manifold absolute pressure", "throttle position", "engine load"], p=[0.6, 0.2, 0.2]
        )
    )
    table, load_at, speed_at = _map(rng, over, turbo, redline)
    d.axes, d.points, d.table = (over, "engine speed"), (tuple(load_at), tuple(speed_at)), table
    scheduled = _look_up(table, (load_at, speed_at), d.of(over), d.of("engine speed"))
    rpm, throttle = d.of("engine speed"), d.of("throttle position")
    at_idle = (throttle < 1.5) & (rpm < 1500)
    parts = {
        "idle": np.where(at_idle, np.clip((d.of("idle speed target") - rpm) * 0.03, -7, 6), 0.0)
    }
    if rng.random() < 0.5:
        edge = float(np.quantile(d.of("intake air temperature"), rng.uniform(0.3, 0.8)))
        parts["air"] = -np.clip((d.of("intake air temperature") - edge) * 0.4, 0, 6)
    if rng.random() < 0.5:
        on = (np.sin(t * rng.uniform(0.1, 0.4) + rng.uniform(0, 6)) > 0.3) & (throttle > 30)
        parts["switch"] = np.where(on, -rng.uniform(2, 6), 0.0)
        d.put("x wet switch", "", on.astype(float), 1)
    if rng.random() < 0.4:
        hits = (rng.random(t.size) < 0.004) & (d.of("manifold absolute pressure") > 0.9 * baro)
        parts["knock"] = -np.clip(smooth(np.where(hits, 150.0, 0.0), 0.6), 0, 6)
        d.put("x knock retard", "deg", parts["knock"], 0.1)
    delivered = scheduled + sum(parts.values())
    if rng.random() < 0.2:
        delivered = np.minimum(delivered, rng.uniform(26, 32))
    step = float(rng.choice([0.1, 0.25, 0.5, 0.75]))
    late = int(rng.integers(0, 3))
    d.put("scheduled advance", "deg", scheduled, step)
    d.put(
        "delivered advance",
        "deg",
        np.concatenate([np.repeat(delivered[:1], late), delivered[: t.size - late]]),
        step,
    )
    d.put("x idle share", "deg", parts["idle"], 0.1)
    for cylinder in (1, 2):
        d.put(
            f"x advance cylinder {cylinder}",
            "deg",
            delivered - np.abs(smooth(rng.normal(0, 3, t.size), 0.5)),
            step,
        )
