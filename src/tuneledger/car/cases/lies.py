"""Kind O: a channel of the log does not tell what the ECU read; the ECU runs the sheet exactly."""

from dataclasses import replace

import numpy as np

from tuneledger.car import corrections as make
from tuneledger.car import profiles
from tuneledger.car.cases.ordinary import file_of, filler, revision, shuffled, with_sheet
from tuneledger.car.cases.setting import Setting, set_up, weather
from tuneledger.car.cases.story import Story, UnfitError, sheet
from tuneledger.car.dress import SPARK
from tuneledger.car.logger import Damage, Lie
from tuneledger.car.maps import random_map

Random = np.random.Generator
_HELD = (-2.0, -4.0, -6.0, -8.0)


def a_channel_lies(rng: Random) -> Story:
    """O: a sensor dead, stuck or at its end; an advance that went round its byte, or in radians."""
    tellers = (dead, stops, at_its_end, went_round, in_radians)
    return tellers[int(rng.integers(len(tellers)))](rng)


def _warm(rng: Random) -> Setting:
    day = replace(weather(rng), soak_c=float(rng.uniform(15, 30)))
    return set_up(rng, profiles.HARD, day)


def dead(rng: Random) -> Story:
    """Intake air stands at one number throughout, and the correction that reads it acts."""
    s = _warm(rng)
    stands = float(np.round(rng.uniform(0.0, 30.0)))
    return _open(s, "intake air dead", Lie("intake air temperature", "dead", stands))


def stops(rng: Random) -> Story:
    """Intake air stops on the way."""
    s = _warm(rng)
    length = float(s.bench.base.times[-1])
    at = float(rng.uniform(0.3, 0.5)) * length
    if length - at < 45.0:
        raise UnfitError("too short a drive")
    return _open(s, "intake air stops", Lie("intake air temperature", "stops", at))


def _open(s: Setting, variant: str, lie: Lie) -> Story:
    story = with_sheet(s, [make.air(s.bench)], variant)
    names = [lie.key, s.names[lie.key]]
    story.damage = Damage(lies=(lie,))
    story.needs = [{"what": lie.key, "names": names}]
    story.verdicts = ["cannot tell"]
    story.best_accepted = [story.sheets[0][1]["revision"], None]
    story.untrusted = (lie.key,) if lie.how == "dead" else ()
    return story


def at_its_end(rng: Random) -> Story:
    """Manifold pressure goes beyond the end of its sensor, and the map's points with it."""
    s = _warm(rng)
    s.the_map = random_map(rng, s.vehicle, "pressure")
    pressure = s.bench.column("manifold absolute pressure")
    highest, air = float(pressure.max()), s.plan.day.baro_kpa
    if highest < 1.35 * air:
        raise UnfitError("hardly any boost")
    end = float(np.round(rng.uniform(1.12 * air, 0.8 * highest), 0))
    story = with_sheet(s, [make.wet(s.bench)], "pressure at its sensor's end")
    story.also = ("barometric pressure",)
    story.damage = Damage(lies=(Lie("manifold absolute pressure", "ends", end),))
    return story


def went_round(rng: Random) -> Story:
    """Delivered is held below nothing, and is sent a whole range above."""
    s = _warm(rng)
    s.spark_step = float(rng.choice([0.5, 0.5, 0.25, 1.0]))
    held = make.pit(s.bench) | {"effect": "replace", "amount": float(rng.choice(_HELD))}
    story = with_sheet(s, [held], "delivered went round")
    span = max(64.0, 128.0 * s.spark_step)  # no channel of an advance holds less
    story.damage = Damage(lies=(Lie("delivered advance", "round", span),))
    return story


def in_radians(rng: Random) -> Story:
    """Both advances are in radians, and no label says so."""
    s = _warm(rng)
    one = make.wet(s.bench)
    rest = shuffled(rng, [one, *filler(s, {one["id"]})])
    running = sheet(s, rest, revision(rng))
    story = Story(s, "radians without a label", running, acting=(one["id"],))
    story.sheets = [(file_of(running["revision"]), running)]
    story.relabel = dict.fromkeys(SPARK, ("rad", ""))
    return story
