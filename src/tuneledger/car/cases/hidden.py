"""Kinds H1 to H4: a rule that stands in no sheet and has to be read out of the log."""

from dataclasses import replace

import numpy as np

from tuneledger.car import corrections as make
from tuneledger.car import profiles
from tuneledger.car.cases.ordinary import file_of, filler, revision, shuffled
from tuneledger.car.cases.setting import Setting, set_up, weather
from tuneledger.car.cases.story import Story, sheet, with_correction
from tuneledger.car.vehicle import VEHICLES

Random = np.random.Generator
WATCHED = ("oil pressure", "fuel pressure", "intake air temperature", "oil temperature",
           "engine speed", "manifold absolute pressure", "throttle position", "module voltage",
           "engine load", "vehicle speed", "accelerator position")  # fmt: skip


def threshold(rng: Random) -> Story:
    """H1: one threshold on one channel, at times with hysteresis."""
    s, key = _setting(rng), str(rng.choice(WATCHED))
    below = key in ("oil pressure", "fuel pressure", "module voltage") or rng.random() < 0.2
    quantile = s.bench.number(0.25, 0.5) if below else s.bench.number(0.4, 0.75)
    release = s.bench.number(0.08, 0.2) if rng.random() < 0.3 else None
    when = [make.beyond(s.bench, key, quantile, below, release)]
    return _story(s, "threshold", {"amount": _amount(s), "when": when})


def with_switch(rng: Random) -> Story:
    """H2: a threshold and a switch, on or off."""
    s, key = _setting(rng), str(rng.choice(WATCHED))
    switch = str(rng.choice(["wet", "pass", "arm", "pit"]))
    on = s.bench.on(switch, (0.35, 0.65))
    if rng.random() < 0.3:
        on = on | {"is": "off"}
    when = [on, make.beyond(s.bench, key, s.bench.number(0.2, 0.5))]
    return _story(s, "threshold and switch", {"amount": _amount(s), "when": when})


def along(rng: Random) -> Story:
    """H3: a curve along one channel."""
    s = _setting(rng)
    key = str(rng.choice(["intake air temperature", "oil temperature", "engine coolant temperature",
                          "manifold absolute pressure", "engine load", "vehicle speed",
                          "oil pressure", "accelerator position", "module voltage"]))  # fmt: skip
    falling = key in ("oil pressure", "module voltage")
    knee = s.bench.number(0.4, 0.7) if falling else s.bench.number(0.15, 0.5)
    return _story(s, "along", make.curve(s.bench, key, knee, -s.bench.number(4, 9), falling))


def timed(rng: Random) -> Story:
    """H4: something that depends on how long ago a thing happened, or how long it has lasted."""
    s = _setting(rng)
    how = str(rng.choice(["after button", "while fresh", "held", "lingers"]))
    b, switch = s.bench, str(rng.choice(["pass", "pit", "wet", "arm"]))
    on = b.on(switch, (0.3, 0.5))
    while len(b.switches[switch]) < 2:
        b.switches[switch] = b.spans((0.3, 0.5))
    if how == "after button":
        when = [{"since": on | {"is": "off"}, "unit": "s", "below": b.number(1.0, 3.0)}]
    elif how == "while fresh":
        when = [{"since": on, "unit": "s", "below": b.number(1.0, 3.0)}]
    elif how == "held":
        when = [
            make.beyond(b, "throttle position", b.number(0.3, 0.5)) | {"held": b.number(0.5, 1.5)}
        ]
    else:
        when = [on | {"linger": b.number(1.0, 3.0)}]
    return _story(s, how, {"amount": _amount(s), "when": when})


def _setting(rng: Random) -> Setting:
    """Vehicles with something weak about them, so that guards have a reason to act."""
    wheels = [replace(v, oil_pump=0.85, fuel_pump=0.6, alternator=0.92) for v in VEHICLES]
    day = replace(weather(rng), soak_c=float(rng.uniform(15, 30)))
    return set_up(rng, (profiles.hill, profiles.mixed, profiles.mixed, profiles.town), day, wheels,
                  starve=float(rng.uniform(0.1, 0.4)))  # fmt: skip


def _amount(s: Setting) -> float:
    """Mostly a retard; now and then it adds, which is worse."""
    size = s.bench.number(2.5, 7)
    return size if s.rng.random() < 0.12 else -size


def _story(s: Setting, variant: str, rule: dict[str, object]) -> Story:
    secret = make.named(s.bench, "secret", "other", **rule)
    rest = filler(s, {secret["id"]}, 4)
    running = sheet(s, shuffled(s.rng, [secret, *rest]), revision(s.rng))
    story = Story(s, variant, running, hidden=(secret["id"],), acting=(secret["id"],))
    story.other_drive = profiles.mixed(s.rng, s.vehicle)
    if s.rng.random() < 0.5:
        known = with_correction(running, secret["id"], running["revision"], drop=True)
        story.sheets = [(file_of(running["revision"]), known)]
        story.variant += ", with a sheet"
    return story
