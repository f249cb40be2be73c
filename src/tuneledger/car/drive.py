"""One drive: driver, driveline, engine and ECU in a loop, every few milliseconds.

The spark that the ECU delivers acts on torque, so an idle governor really governs and a retard
really costs speed. What comes out is the plain truth, before any logger has touched it.
"""

import math
from array import array
from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Protocol

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.car.driveline import Driveline
from tuneledger.car.driver import Demand, Driver, Leg
from tuneledger.car.ecu import Step
from tuneledger.car.engine import Engine
from tuneledger.car.knock import KnockControl
from tuneledger.car.machines import Read
from tuneledger.car.noise import Noise
from tuneledger.car.senses import Senses, Source, sensed
from tuneledger.car.vehicle import Day, Vehicle
from tuneledger.record import record

DT = 0.005
SWITCHES = ("wet", "pass", "arm", "pit", "launch", "rest")
Spans = Sequence[tuple[float, float]]


@record
class Plan:
    """A drive before it is driven.

    switches: name → spans of seconds in which the driver has it on
    tick:     the ECU works once in so many steps, and holds what it says in between
    starve:   share of the oil pressure lost per g in corners
    channels: a log's channel name → what stands behind it, for sheets that name one
    """

    vehicle: Vehicle
    day: Day
    legs: tuple[Leg, ...]
    seed: int = 0
    switches: Mapping[str, Spans] = field(default_factory=dict)
    starve: float = 0.0
    knocks: float = 0.0
    flat_shift: bool = False
    tick: int = 1
    closed_reads: float = 0.0
    channels: Mapping[str, Source] = field(default_factory=dict)


@record(eq=False)
class Run:
    """What happened. columns: signals by name in their own units, and the rest by key.

    scheduled, delivered, entries: the ECU's own bookkeeping in degrees, NaN where it has none.
    void: the engine did not turn
    """

    plan: Plan
    times: FloatArray
    columns: dict[str, FloatArray]
    scheduled: FloatArray
    delivered: FloatArray
    entries: dict[str, FloatArray]
    void: BoolArray


class Ignition(Protocol):
    """What a drive needs of an ECU: `Ecu` itself, or several of them one after another."""

    def step(self, t: float, read: Read, scheduled: float | None = None) -> Step: ...


def drive(plan: Plan, ecu: Ignition, dt: float = DT) -> Run:
    """Drive the plan with that ECU. The same plan and ECU give the same run.

    dt: seconds per step; loggers need the usual one, a first look can do with longer steps
    """
    rng = np.random.default_rng(plan.seed)
    driver = Driver(plan.vehicle, plan.legs, plan.flat_shift)
    steps = round(driver.seconds / dt) + 1
    times = np.arange(steps, dtype=np.float64) * dt
    noise = Noise(rng, steps, dt, plan.vehicle.displacement_l, plan.knocks)
    switches = {name: switch(times, plan.switches.get(name, ())).tolist() for name in SWITCHES}
    engine = Engine(plan.vehicle, plan.day)
    if plan.legs[0].what not in ("off", "crank"):
        engine.start_idling()
    line = Driveline(plan.vehicle, plan.day)
    senses, knock = Senses(plan.channels), KnockControl()
    seen, account = array("d"), array("d")  # row after row: no million numbers as objects
    spark = 10.0
    for i, t in enumerate(times.tolist()):
        demand = driver.step(t, dt, engine.rpm, line.speed * 3.6)
        now = sensed(engine, line, demand, noise.at(i), plan.starve, plan.closed_reads)
        now.update({name: column[i] for name, column in switches.items()})
        now["launch"] = max(now["launch"], float(demand.launch))
        now["knock share"] = knock.step(dt, now["knock level"], now["engine speed"])
        seen.extend(now.values())
        if i % plan.tick == 0:
            senses.now = now
            step = ecu.step(t, senses)
            spark = spark if step.delivered is None else step.delivered
            numbers = (step.scheduled, step.delivered, *step.entries.values())
            posted = [math.nan if number is None else number for number in numbers]
        account.extend(posted)
        _move(engine, line, demand, spark, noise.extra[i], dt)
    table = np.frombuffer(seen).reshape(steps, -1)
    books = np.frombuffer(account).reshape(steps, -1)
    columns = {key: table[:, n] for n, key in enumerate(now)}
    entries = {key: books[:, n + 2] for n, key in enumerate(step.entries)}
    void = columns["engine speed"] < 50.0
    return Run(plan, times, columns, books[:, 0], books[:, 1], entries, void)


def _move(
    engine: Engine, line: Driveline, demand: Demand, spark: float, extra: float, dt: float
) -> None:
    v = engine.vehicle
    engine.limit = v.launch_rpm if demand.launch else v.redline
    engine.cut = demand.shifting and engine.throttle > 15.0
    if demand.held_rpm is not None:
        engine.step(dt, demand.pedal, spark, engine.torque, 0.0)
        engine.rpm += (demand.held_rpm - engine.rpm) * dt / 0.08
        line.speed = engine.rpm * math.pi / 30.0 * v.tyre_m / v.gears[demand.gear - 1]
        return
    load = line.step(dt, demand, engine.rpm, engine.torque)
    engine.step(dt, demand.pedal, spark, load, extra if engine.turning else 0.0)
    if demand.crank:
        if engine.rpm < 0.5 * v.idle:
            engine.rpm += (0.3 * v.idle - engine.rpm) * dt / 0.03
        engine.volts += (9.6 - engine.volts) * dt / 0.08 * (engine.rpm < 400.0)
        engine.since_start = 0.0


def switch(times: FloatArray, spans: Spans) -> FloatArray:
    """1 within the spans of seconds, else 0."""
    on = np.zeros(times.size)
    for start, end in spans:
        on[(times >= start) & (times < end)] = 1.0
    return on
