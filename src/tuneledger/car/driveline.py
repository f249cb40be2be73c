"""Wheels or a propeller on the other end of a clutch."""

import math

from tuneledger.car.driver import Demand
from tuneledger.car.vehicle import Day, Vehicle


class Driveline:
    """Wheels or a propeller on the other end of a clutch."""

    def __init__(self, vehicle: Vehicle, day: Day) -> None:
        self.vehicle, self.day = vehicle, day
        self.speed = 0.0  # m/s
        self.slip = 0.0  # wheels over road, percent
        self.acceleration = 0.0  # g
        self.climbed = 0.0  # m
        self._let_in = 0.0

    def step(self, dt: float, demand: Demand, rpm: float, torque: float) -> float:
        """Move the vehicle on; the torque that it takes from the engine, in N·m."""
        self._let_in = 0.0 if demand.clutch_in else min(1.0, self._let_in + dt / 0.3)
        before = self.speed
        load = self._sail(dt, demand, rpm) if self.vehicle.is_boat else self._roll(
            dt, demand, rpm, torque)  # fmt: skip
        self.climbed += self.speed * self.day.climb * dt
        self.acceleration += ((self.speed - before) / dt / 9.81 - self.acceleration) * 0.1
        return load

    def _sail(self, dt: float, demand: Demand, rpm: float) -> float:
        share = rpm / self.vehicle.redline
        fast = 15.0 * share if demand.gear else 0.0
        self.speed += (fast - self.speed) * dt / 3.0
        sinking = max(0.0, share - self.speed / 15.0) * 0.5
        return self.vehicle.propeller * share * share * (1.0 + sinking) if demand.gear else 0.0

    def _roll(self, dt: float, demand: Demand, rpm: float, torque: float) -> float:
        v, load = self.vehicle, 0.0
        most = v.grip * v.mass_kg * 9.81 * 0.6
        force = 0.0
        if demand.gear and self._let_in > 0:
            ratio = v.gears[demand.gear - 1]
            wheels = self.speed * (1.0 + self.slip / 100.0) / v.tyre_m * ratio
            gap = rpm * math.pi / 30.0 - wheels
            feel = min(max((rpm - 0.75 * v.idle) / (0.6 * v.idle), 0.04), 1.0)  # it must not stall
            bite = 420.0 * v.displacement_l * self._let_in**2 * feel
            stiff = v.inertia / dt * 0.35
            load = min(max(stiff * gap + 0.65 * torque * self._let_in, -bite), bite)
            if demand.pedal < 1.0 and rpm < 1.15 * v.idle:
                load = min(load, 0.0)  # the driver does not stall it
            force = load * ratio * 0.9 / v.tyre_m
        over = max(0.0, abs(force) / most - 0.85) * 22.0
        self.slip += (over - self.slip) * dt / 0.12
        force = min(max(force, -most), most)
        drag = 0.6 * v.drag_m2 * self.speed**2 + 0.013 * v.mass_kg * 9.81 * (self.speed > 0.1)
        hill = v.mass_kg * 9.81 * self.day.climb * (self.speed > 0.5)
        brake = demand.brake * v.mass_kg * 9.0 * (self.speed > 0.05)
        around = v.mass_kg * 1.08
        self.speed = max(0.0, self.speed + (force - drag - hill - brake) / around * dt)
        return load
