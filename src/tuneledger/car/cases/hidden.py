"""Kinds H1 to H5: a rule that stands in no sheet and has to be read out of the log."""

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


def seldom(rng: Random) -> Story:
    """H5: what is seldom: throughout, for half a second, two that add up, a ramp, three
    conditions, and times around a threshold instead of a switch."""
    tellers = (_throughout, _brief, _two, _ramped, _three, _around_a_threshold)
    return tellers[int(rng.integers(len(tellers)))](_setting(rng))


def _throughout(s: Setting) -> Story:
    """A fixed amount in every sample."""
    return replace(_story(s, "throughout", {"amount": _amount(s)}), throughout=True)


def _brief(s: Setting) -> Story:
    """A button that is pressed once, for about half a second."""
    switch, length = str(s.rng.choice(["pass", "arm", "pit"])), float(s.bench.base.times[-1])
    start = round(float(s.rng.uniform(0.3, 0.8)) * length, 2)
    s.bench.switches[switch] = [(start, start + s.bench.number(0.4, 0.9))]
    rule = {"amount": _amount(s), "when": [s.bench.on(switch)]}
    return replace(_story(s, "half a second", rule), brief=True)


def _two(s: Setting) -> Story:
    """A switch and a threshold, each with its own amount; where both hold they add up."""
    key = str(s.rng.choice(["manifold absolute pressure", "engine speed", "vehicle speed",
                            "throttle position", "intake air temperature"]))  # fmt: skip
    one = make.named(s.bench, "secret", "other", amount=_amount(s),
                     when=[s.bench.on("wet", (0.35, 0.6))])  # fmt: skip
    two = make.named(s.bench, "secret", "other", amount=-s.bench.number(2.5, 6),
                     when=[make.beyond(s.bench, key, s.bench.number(0.4, 0.7))])  # fmt: skip
    return _told(s, "two that add up", [one, two | {"id": f"{one['id']}-2"}])


def _ramped(s: Setting) -> Story:
    """A switch whose degrees come and go no faster than so many per second."""
    when = [s.bench.on(str(s.rng.choice(["wet", "pass", "arm", "pit"])), (0.35, 0.65))]
    ramp = s.bench.number(2, 12, 1)
    return _story(s, "with a ramp", {"amount": _amount(s), "when": when, "ramp": ramp})


def _three(s: Setting) -> Story:
    """A switch and two thresholds."""
    first, second = (
        str(x)
        for x in s.rng.permutation(
            ["engine speed", "throttle position", "vehicle speed", "intake air temperature"]
        )[:2]
    )
    when = [
        s.bench.on(str(s.rng.choice(["wet", "pass", "arm"])), (0.5, 0.7)),
        make.beyond(s.bench, first, s.bench.number(0.2, 0.4)),
        make.beyond(s.bench, second, s.bench.number(0.2, 0.4)),
    ]
    return _story(s, "three conditions", {"amount": _amount(s), "when": when})


def _around_a_threshold(s: Setting) -> Story:
    """For some time since a threshold was passed, or until some time after it was."""
    b = s.bench
    key = str(s.rng.choice(["throttle position", "manifold absolute pressure", "engine speed"]))
    passed, seconds = make.beyond(b, key, b.number(0.4, 0.7)), b.number(0.5, 2.0)
    if s.rng.random() < 0.5:
        when = [{"since": passed, "unit": "s", "below": seconds}]
        return _story(s, "since a threshold", {"amount": _amount(s), "when": when})
    rule = {"amount": _amount(s), "when": [passed | {"linger": seconds}]}
    return _story(s, "lingers after a threshold", rule)


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
    return _told(s, variant, [make.named(s.bench, "secret", "other", **rule)])


def _told(s: Setting, variant: str, secret: list[make.Correction]) -> Story:
    """The story with these corrections kept from whoever gets the log."""
    names = tuple(one["id"] for one in secret)
    rest = filler(s, set(names), 4)
    running = sheet(s, shuffled(s.rng, [*secret, *rest]), revision(s.rng))
    story = Story(s, variant, running, hidden=names, acting=names)
    story.other_drive = profiles.mixed(s.rng, s.vehicle)
    if s.rng.random() < 0.5:
        known = running
        for name in names:
            known = with_correction(known, name, running["revision"], drop=True)
        story.sheets = [(file_of(running["revision"]), known)]
        story.variant += ", with a sheet"
    return story
