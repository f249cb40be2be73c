"""What the car measures, and what the ECU can read of it in whatever unit a sheet asks for."""

from collections.abc import Mapping

from tuneledger.car.driveline import Driveline
from tuneledger.car.driver import Demand
from tuneledger.car.engine import Engine
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

Source = tuple[str, str, str]
"""Quantity, its own unit, and the unit in which a log carries it."""


class Senses:
    """What the ECU can read at this moment, in whatever unit a sheet asks for."""

    def __init__(self, channels: Mapping[str, Source]) -> None:
        self.now: dict[str, float] = {}
        self._channels = {name.casefold(): source for name, source in channels.items()}
        self._known: dict[tuple[str, str, str | None], tuple[str, float, float]] = {}

    def __call__(self, kind: str, name: str, unit: str | None) -> float | None:
        wanted = (kind, name, unit)
        if wanted not in self._known:
            self._known[wanted] = self._source(kind, name, unit)
        key, scale, offset = self._known[wanted]
        number = self.now.get(key)
        return None if number is None else scale * number + offset

    def _source(self, kind: str, name: str, unit: str | None) -> tuple[str, float, float]:
        if kind == "signal":
            key, own = name, SIGNALS[name].unit
            logged = own
        else:
            key, own, logged = self._channels.get(name.casefold(), (name, "", ""))
        target = logged if unit is None else unit
        scale, offset = (1.0, 0.0) if own == target else conversion(own, target) or (1.0, 0.0)
        return key, scale, offset


def sensed(
    e: Engine,
    line: Driveline,
    demand: Demand,
    n: Mapping[str, float],
    starve: float,
    closed_reads: float,
) -> dict[str, float]:
    """Every sensor at this moment, with its noise, signals in their own units."""
    turning = e.turning
    starved = 1.0 - starve * min(abs(demand.lateral), 1.2)
    baro = e.day.baro_kpa - 0.0115 * line.climbed
    knocking = max(0.0, -e.knock_margin) * 0.25 if demand.pedal > 30.0 else 0.0
    return {
        "engine speed": max(0.0, e.rpm + n["rpm"]) if turning else e.rpm,
        "engine load": e.load + n["small"] * 4 if turning else 0.0,
        "manifold absolute pressure": e.map + n["map"] * (0.4 + e.map / 250.0),
        "barometric pressure": baro,
        "throttle position": max(-0.4, e.throttle + n["throttle"] + closed_reads),
        "accelerator position": max(0.0, demand.pedal + n["small"]),
        "engine coolant temperature": e.coolant_c,
        "intake air temperature": e.intake_c,
        "oil temperature": e.oil_c,
        "fuel temperature": e.day.fuel_c + 0.004 * e.since_start * (e.since_start < 1e3),
        "oil pressure": max(0.0, e.oil_kpa * starved + n["oil"]) if turning else 0.0,
        "fuel pressure": e.fuel_kpa + n["fuel"],
        "module voltage": e.volts + n["volts"],
        "vehicle speed": line.speed * 3.6,
        "gear": float(demand.gear),
        "ethanol content": e.day.ethanol + n["slow"] * 0.4,
        "idle speed target": round(e.idle_target / 5.0) * 5.0,
        "knock level": (0.2 + e.rpm * 9e-5 + n["knock"] + knocking) if turning else 0.02,
        "commanded lambda": 1.0 if e.no_fuel else e.lambda_wanted,
        "measured lambda": e.lambda_measured + n["lambda"],
        "braking": demand.brake,
        "clutch": float(demand.clutch_in),
        "crank": float(demand.crank),
        "shift": float(demand.shifting),
        "lateral": demand.lateral + n["small"] * 0.1,
        "acceleration": line.acceleration + n["small"] * 0.1,
        "slip": line.slip + n["slip"] * (line.speed > 1.0),
        "fan": float(e.fan),
        "fuel cut": float(e.no_fuel or e.limiting),
        "exhaust temperature": e.exhaust_c,
        "boost": e.boost,
        "torque": e.torque,
        "climbed": line.climbed,
    }
