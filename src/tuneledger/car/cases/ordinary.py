"""Kinds A to D: nothing, the idle governor, a temperature, a switch or a guard."""

from dataclasses import replace
from typing import Any

import numpy as np

from tuneledger.car import corrections as make
from tuneledger.car import profiles
from tuneledger.car.cases.setting import Setting, set_up, weather
from tuneledger.car.cases.story import Story, sheet
from tuneledger.car.vehicle import VEHICLES

Random = np.random.Generator
REVISIONS = ("A", "B", "C", "D", "E", "F", "2", "7", "R3", "v12", "2026-04", "final")


def revision(rng: Random) -> str:
    """The name of a revision, drawn."""
    return str(rng.choice(REVISIONS))


def file_of(name: str) -> str:
    """The file in which a revision of that name is handed over."""
    return f"rev-{name.lower()}.toml"


def filler(s: Setting, taken: set[str], most: int = 5) -> list[make.Correction]:
    """Corrections that stand in the sheet and do nothing on this drive."""
    return make.decoys(s.bench, int(s.rng.integers(1, most + 1)), taken)


def shuffled(rng: Random, corrections: list[make.Correction]) -> list[make.Correction]:
    """The same corrections in an order that is drawn."""
    return [corrections[i] for i in rng.permutation(len(corrections)).tolist()]


def with_sheet(s: Setting, featured: list[make.Correction], variant: str, **more: object) -> Story:
    """A story in which the one sheet handed over is what runs."""
    ids = {c["id"] for c in featured}
    running = sheet(s, shuffled(s.rng, [*featured, *filler(s, set(ids))]), revision(s.rng))
    story = Story(s, variant, running, [(file_of(running["revision"]), running)])
    story.acting = tuple(c["id"] for c in featured if c["reason"] != "idle speed")
    for key, value in more.items():
        setattr(story, key, value)
    return story


def nothing(rng: Random) -> Story:
    """A: only rounding and a late channel, with a sheet or without."""
    s = set_up(rng, profiles.ALL)
    late = [0.0, 0.3, 0.5, 1.0, 1.0, 2.0, 3.0]
    story = with_sheet(s, [], "with a sheet", quiet=True, lag=float(rng.choice(late)))
    if rng.random() < 0.4:
        story.variant, story.sheets = "log only", []
    return story


def idle_only(rng: Random) -> Story:
    """B: the idle governor and nothing else."""
    s = set_up(rng, (profiles.long_idle, profiles.town, profiles.hill, profiles.harbour)
               if rng.random() < 0.7 else profiles.ALL)  # fmt: skip
    governor = make.idle(s.bench)
    story = with_sheet(s, [governor], "with a sheet", acting=(governor["id"],))
    s.spark_step = min(s.spark_step, 0.5)
    if rng.random() < 0.5:
        story.variant, story.sheets = "log only", []
        story.verdicts = ["expected", "explained"]
    return story


def temperature(rng: Random) -> Story:
    """C: a temperature correction from the sheet, not logged."""
    what = str(rng.choice(["air", "air", "air by load", "coolant", "cold", "oil", "height"]))
    day = replace(weather(rng), soak_c=float(rng.uniform(15, 30)))
    among = profiles.HARD
    if what == "cold":
        day = replace(day, coolant_c=float(rng.uniform(18, 55)), oil_c=float(rng.uniform(15, 50)))
        among = (profiles.cold_start, profiles.town, profiles.mixed)
    elif what == "height":
        day = replace(day, climb=0.09, baro_kpa=float(rng.uniform(74, 84)))
    cars = [v for v in VEHICLES if not (v.is_boat and what == "height")]
    s = set_up(rng, among, day, cars)
    maker = {"air": make.air, "air by load": make.air_by_load, "coolant": make.coolant,
             "cold": make.cold, "oil": make.oil_heat, "height": make.height}[what]  # fmt: skip
    featured = [maker(s.bench)]
    if rng.random() < 0.4:
        featured.append(make.idle(s.bench))
    return with_sheet(s, featured, what)


# what has to be weak about a car for its guard to have a reason
WEAK: dict[str, dict[str, Any]] = {
    "oil guard": {"oil_pump": 0.8},
    "fuel guard": {"fuel_pump": 0.55},
    "volts": {"alternator": 0.9},
    "slip": {"grip": 0.75},
}


def switch_or_guard(rng: Random) -> Story:
    """D: a switch or a guard from the sheet, at times logged under an odd name in either sign."""
    what = str(rng.choice(["wet", "pit", "oil guard", "fuel guard", "volts", "launch", "shift",
                           "armed", "slip", "knock"]))  # fmt: skip
    on_wheels = what in ("launch", "shift", "slip")
    wheels = [v for v in VEHICLES if not (v.is_boat and on_wheels)]
    wheels = [replace(v, **WEAK.get(what, {})) for v in wheels]
    plan: dict[str, Any] = {"flat_shift": what == "shift"}
    if what == "oil guard":
        plan["starve"] = float(rng.uniform(0.25, 0.45))
    if what == "knock":
        plan["knocks"] = float(rng.uniform(25, 60))
    among = (profiles.hill, profiles.mile) if what in ("launch", "slip") else profiles.HARD
    s = set_up(rng, among, vehicles=wheels, **plan)
    if what == "knock":
        called = {"logged_as": s.names["knock share"]}
        featured = [make.named(s.bench, "knock", "knock", **called)]
        story = with_sheet(s, featured, "knock", also=("knock share",))
        story.damage = replace(story.damage, turned=("knock share",) if rng.random() < 0.5 else ())
        return story
    maker = {"wet": make.wet, "pit": make.pit, "oil guard": make.oil_guard, "slip": make.slip,
             "fuel guard": make.fuel_guard, "volts": make.volts, "launch": make.launch,
             "shift": make.shift, "armed": make.armed}[what]  # fmt: skip
    featured = [maker(s.bench)]
    if rng.random() < 0.3:
        featured.append(make.idle(s.bench))
    story = with_sheet(s, featured, what)
    if rng.random() < 0.5:
        key, sign = str(rng.choice(["share a", "share b"])), float(rng.choice([-1.0, 1.0]))
        story.variant += ", logged" + (" with its sign turned" if sign < 0 else "")
        story.shares = {key: ((featured[0]["id"],), sign)}
        if sign > 0 and rng.random() < 0.5:
            featured[0]["logged_as"] = s.names[key]
    return story
