"""The bystanders: everything else that a logger carries and that must not be taken for a signal."""

import numpy as np
from numpy.random import Generator

from tests.roles.drives import DT, Drive, smooth
from tuneledger.arrays import FloatArray


def add_bystanders(d: Drive, rng: Generator) -> None:
    """Put them into a drive, beside its signals."""
    _engine(d, rng)
    _car(d, rng)


def _engine(d: Drive, rng: Generator) -> None:
    def noise(size: float) -> FloatArray:
        return rng.normal(0, size, t.size)

    t, x, pedal, baro, redline = d.times, d.put, d.hidden["pedal"], d.baro, d.redline
    rpm, pressure = d.of("engine speed"), d.of("manifold absolute pressure")
    x("x engine speed slow", "rpm", smooth(rpm, 0.5), 1)
    x(
        "x turbo speed",
        "rpm",
        20000 + 130000 * np.clip((pressure - 30) / 200, 0, 1) + noise(300),
        100,
    )
    x("x engine acceleration", "rpm/s", np.gradient(rpm, DT), 10)
    x("x throttle 2", "%", d.of("throttle position") + noise(0.1), 0.1)
    x("x throttle target", "%", np.clip(pedal * 0.985, 0, 98.5), 0.1)
    x("x pedal 2", "%", pedal / 2 + noise(0.05), 0.1)
    x("x idle valve", "%", 20 + smooth(noise(8), 0.5), 0.5)
    x("x wastegate duty", "%", np.clip((pressure - 110) * 0.6, 0, 90), 0.5)
    x("x fuel trim short", "%", smooth(noise(12), 0.4), 0.1)
    x("x fuel trim long", "%", 1.5 + 0 * t, 0.1)
    x("x injector duty", "%", np.clip(pressure * rpm / 12000, 1, 95), 0.1)
    x("x processor load", "%", 42 + rpm / 700 + noise(1), 0.5)
    x("x boost", "kPa", pressure - baro + noise(0.3), 0.1)
    x("x boost target", "kPa", np.where(pedal > 50, 190.0 if d.turbo else 100.0, 100.0), 1)
    x("x airbox pressure", "kPa", baro - (rpm / redline) ** 2 * 2 + noise(0.2), 0.1)
    x("x exhaust back pressure", "kPa", baro + (rpm / redline) ** 2 * 60 + noise(1), 1)
    x("x coolant pressure", "kPa", 70 + rpm * 0.012 + noise(0.5), 1)
    x("x crankcase pressure", "kPa", baro - 1.5 + rpm * 0.0006 + noise(0.2), 0.1)
    x("x exhaust temperature", "degC", 400 + smooth(pressure * rpm / 1500, 3) + noise(2), 1)
    x("x module temperature", "degC", rng.uniform(35, 50) + t / t[-1] * 2, 1)
    x("x dash voltage", "V", d.of("module voltage") - 0.17 + noise(0.01), 0.01)
    x("x sensor supply", "V", 5.0 + noise(0.005), 0.01)
    x("x knock threshold", "V", 0.9 + rpm / redline, 0.01)
    x("x inlet cam", "deg", smooth(np.clip((rpm - 1200) / 100, 0, 35) * (pedal > 2), 0.3), 0.1)
    x("x inlet cam target", "deg", np.clip((rpm - 1200) / 100, 0, 35) * (pedal > 2), 0.5)
    x("x injection angle", "deg", 350 - rpm / 90, 1)
    x("x injection time", "ms", 1.0 + pressure * 0.05, 0.01)
    x("x dwell", "ms", 3.0 + 0 * t, 0.01)
    x("x air flow", "g/s", pressure * rpm / 9000, 0.1)
    x("x torque", "Nm", (pressure - 30) * 1.6, 1)
    x("x fan", "", (d.of("engine coolant temperature") > 91).astype(float), 1)
    x("x fault count", "", 0 * t, 1)
    x("x calibration number", "", 4417 + 0 * t, 1)


def _car(d: Drive, rng: Generator) -> None:
    def noise(size: float) -> FloatArray:
        return rng.normal(0, size, t.size)

    t, x, pedal, speed = d.times, d.put, d.hidden["pedal"], d.hidden["road"]
    x("x prop shaft", "rpm", speed * 36 + noise(3), 1)
    x("x wheel slip", "%", np.abs(smooth(noise(9), 0.3)), 0.1)
    x("x humidity", "%", rng.uniform(30, 80) + 0 * t, 1)
    brake = np.where((pedal < 0.5) & (np.gradient(speed, DT) < -3), rng.uniform(10, 60), 0)
    x("x brake pressure", "bar", smooth(brake.astype(float), 0.2) + noise(0.05), 0.01)
    for corner in ("FL", "RR"):
        x(f"x tyre pressure {corner}", "bar", 1.9 + t / t[-1] * 0.1, 0.01)
        x(f"x tyre temperature {corner}", "degC", 40 + 15 * t / t[-1] + smooth(noise(10), 2), 0.5)
        x(f"x disc temperature {corner}", "degC", 90 + smooth(brake * 30.0, 8) + noise(1), 1)
        x(f"x wheel speed {corner}", "km/h", np.maximum(speed + noise(0.3), 0), 0.1)
        x(f"x damper {corner}", "mm", 22 + smooth(noise(20), 0.1), 0.1)
    x("x gearbox temperature", "degC", rng.uniform(55, 80) + t / t[-1] * 5, 0.5)
    x("x steering", "deg", smooth(noise(200), 0.5), 0.1)
    x("x yaw", "deg/s", smooth(noise(25), 0.5), 0.1)
    x("x roll", "deg", smooth(noise(5), 0.4), 0.1)
    x("x heading", "deg", (180 + np.cumsum(smooth(noise(3), 1)) * 0.1) % 360, 0.1)
    x("x long acceleration", "g", np.gradient(speed, DT) / 35.3 + noise(0.01), 0.01)
    x("x lateral acceleration", "g", smooth(noise(1.5), 0.5), 0.01)
    x("x fuel level", "l", 41.5 - t / 600, 0.5)
    x("x gps speed", "km/h", smooth(speed, 0.6), 0.1)
    x("x altitude", "m", 120 + smooth(noise(20), 5), 1)
    x("x gps satellites", "", np.round(11 + smooth(noise(3), 4)), 1)
    x("x clutch switch", "", (d.hidden["gear"] == 0).astype(float), 1)
    x("x brake switch", "", (brake > 0).astype(float), 1)
    x("x lap", "", np.floor(t / 40), 1)
    x("x frame", "", np.arange(t.size) % 256, 1)
