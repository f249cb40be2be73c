"""The setting of a case: which vehicle, which day, which drive, which logger."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tuneledger.car import profiles
from tuneledger.car.bench import Bench
from tuneledger.car.distractors import DISTRACTORS
from tuneledger.car.dress import Dress, random_dress
from tuneledger.car.drive import Plan, drive
from tuneledger.car.ecu import Step
from tuneledger.car.machines import Read
from tuneledger.car.maps import random_map
from tuneledger.car.vehicle import VEHICLES, Day, Vehicle
from tuneledger.car.vocabulary import names, words

SPEAKING = ("plain", "formal", "german", "french", "spanish", "italian", "swedish", "codes",
            "codes", "dotted", "joined", "terse")  # fmt: skip
ALWAYS = ("engine speed", "throttle position", "manifold absolute pressure", "engine load")
OFTEN = ("vehicle speed", "engine coolant temperature", "intake air temperature", "oil temperature",
         "oil pressure", "fuel pressure", "module voltage", "gear", "accelerator position",
         "barometric pressure", "idle speed target", "measured lambda", "commanded lambda",
         "knock level", "fuel temperature", "ethanol content", "slip")  # fmt: skip
FIRST_DT = 0.01  # s; the first drive only shows where the car goes
SWITCHES = ("wet", "pass", "launch", "arm", "pit", "shift")


@dataclass
class Setting:
    """Everything that is decided before the first drive; `bench` holds that drive."""

    rng: np.random.Generator
    plan: Plan
    dress: Dress
    names: dict[str, str]
    spark_step: float
    bench: Bench
    the_map: dict[str, Any]

    @property
    def vehicle(self) -> Vehicle:
        return self.plan.vehicle


class FixedSpark:
    """Stands in for an ECU on the first drive, which only shows where the car goes."""

    def step(self, t: float, read: Read, scheduled: float | None = None) -> Step:
        return Step(18.0, {}, 18.0, {})


def varied(rng: np.random.Generator, v: Vehicle) -> Vehicle:
    """The vehicle with its own numbers, so that no two cases share one."""

    def about(x: float, share: float, step: float) -> float:
        return round(x * float(rng.uniform(1 - share, 1 + share)) / step) * step

    return replace(
        v,
        redline=about(v.redline, 0.06, 50.0),
        idle=about(v.idle, 0.08, 10.0),
        boost_kpa=about(v.boost_kpa, 0.25, 1.0),
        mass_kg=about(v.mass_kg, 0.1, 5.0),
        launch_rpm=about(v.launch_rpm, 0.1, 50.0),
    )


def weather(rng: np.random.Generator) -> Day:
    """A day drawn at random: temperatures in °C, pressure in kPa (82: some 1700 m up), fuel with a
    little ethanol in percent. Spans by judgement."""
    return Day(
        air_c=float(rng.uniform(4, 36)),
        baro_kpa=float(rng.uniform(82, 102)),
        coolant_c=float(rng.uniform(80, 94)),
        oil_c=float(rng.uniform(70, 105)),
        fuel_c=float(rng.uniform(12, 40)),
        ethanol=float(rng.uniform(2, 12)),
        soak_c=float(rng.uniform(6, 22)),
    )


def set_up(
    rng: np.random.Generator,
    among: Sequence[profiles.Profile] = profiles.HARD,
    day: Day | None = None,
    vehicles: Sequence[Vehicle] = VEHICLES,
    vocabulary: str | None = None,
    **plan: Any,
) -> Setting:
    """A setting at random, with its first drive driven."""
    vehicle = varied(rng, vehicles[int(rng.integers(len(vehicles)))])
    day = day or weather(rng)
    if not vehicle.is_boat and rng.random() < 0.4:
        day = replace(day, climb=float(rng.uniform(0.02, 0.09)))
    legs = profiles.choose(rng, vehicle, among)
    vocabulary = vocabulary or str(rng.choice(SPEAKING))
    dress = random_dress(rng, vocabulary)
    called = names(vocabulary, list(words()), rng)
    first = Plan(vehicle, day, legs, seed=int(rng.integers(2**31)), **plan)
    taste = {"degC": str(rng.choice(["degC", "degC", "degF"])),
             "kPa": str(rng.choice(["kPa", "kPa", "bar", "psi"]))}  # fmt: skip
    bench = Bench(rng, vehicle, drive(first, FixedSpark(), FIRST_DT), called, taste)
    step = float(rng.choice([0.1, 0.1, 0.25, 0.5, 0.5, 1.0]))
    if vocabulary == "codes" and rng.random() < 0.3:
        dress, step = replace(dress, port=True), 0.5
    return Setting(rng, first, dress, called, step, bench, random_map(rng, vehicle))


def extras(rng: np.random.Generator) -> list[str]:
    """Channels beside those that matter: from a handful to dozens."""
    count = int(rng.choice([4, 8, 15, 25, 40, 52]))
    return [str(key) for key in rng.permutation(list(DISTRACTORS))[:count]]
