"""Corrections with an effect other than adding, or with a memory: CONTRACT section 2 in turn."""

from typing import Any

from tuneledger.car import corrections as make
from tuneledger.car.bench import Bench


def _load(b: Bench) -> str:
    return "manifold absolute pressure" if b.vehicle.turbo else "engine load"


def _rev(b: Bench) -> list[make.Correction]:
    return [make.soft_rev(b)]


def _cap(b: Bench) -> list[make.Correction]:
    when = [make.beyond(b, "intake air temperature", b.number(0.2, 0.5))]
    return [make.named(b, "air", "air temperature", effect="at most", amount=b.number(9, 15),
                       when=when)]  # fmt: skip


def _floor(b: Bench) -> list[make.Correction]:
    when = [make.beyond(b, "engine speed", b.number(0.2, 0.5))]
    return [make.named(b, "overrun", "other", effect="at least", amount=b.number(26, 33), when=when,
                       expected="keeps the exhaust cool")]  # fmt: skip


def _base(b: Bench) -> list[make.Correction]:
    when = [b.on("pass")]
    axes = [
        b.reading("engine speed") | {"at": [1000.0, 0.5 * b.vehicle.redline, b.vehicle.redline]}
    ]
    values = [b.number(8, 12), b.number(14, 18), b.number(18, 22)]
    return [make.named(b, "flex", "fuel", effect="base", axes=axes, values=values, when=when)]


def _blend(b: Bench) -> list[make.Correction]:
    weight = {"axes": [b.reading("ethanol content") | {"at": [10.0, 85.0]}], "values": [0.0, 1.0]}
    low, high = (b.written(_load(b), b.at(_load(b), q)) for q in (0.05, 0.9))
    speed = b.reading("engine speed") | {"at": [1000.0, b.vehicle.redline - 400.0]}
    axes = [b.reading(_load(b)) | {"at": [low, high]}, speed]
    values = [[b.number(18, 22), b.number(40, 44)], [b.number(14, 18), b.number(33, 38)]]
    return [make.named(b, "flex", "fuel", effect="base", weight=weight, axes=axes, values=values,
                       expected="the fuel takes it")]  # fmt: skip


def _ramp(b: Bench) -> list[make.Correction]:
    when = [make.beyond(b, "throttle position", b.number(0.3, 0.6)) | {"held": b.number(0.2, 0.6)}]
    return [make.named(b, "boost", "other", amount=make.retard(b, 4, 8), when=when,
                       ramp=b.number(5, 25, 1))]  # fmt: skip


def _ramps(b: Bench) -> list[make.Correction]:
    ramp = {"down": b.number(20, 60, 5), "up": b.number(1.5, 4, 0.5)}
    when = [make.beyond(b, _load(b), b.number(0.4, 0.7))]
    return [make.named(b, "boost", "boost", amount=make.retard(b, 4, 8), when=when, ramp=ramp)]


def _held(b: Bench) -> list[make.Correction]:
    when = [make.beyond(b, "engine speed", b.number(0.3, 0.6)) | {"held": b.number(0.5, 1.5)}]
    return [make.named(b, "rev", "other", amount=make.retard(b, 3, 7), when=when)]


def _hysteresis(b: Bench) -> list[make.Correction]:
    key = str(b.rng.choice(["engine speed", "throttle position", _load(b)]))
    when = [make.beyond(b, key, b.number(0.6, 0.75), release=b.number(0.25, 0.4))]
    return [make.named(b, "boost", "other", amount=make.retard(b, 3, 7), when=when)]


def _latch(b: Bench) -> list[make.Correction]:
    until: Any = "power off"
    if b.rng.random() < 0.5:
        shut = {"signal": "throttle position", "unit": "%", "below": 1.0}
        until = shut | {"held": b.number(0.5, 1.0)}
    when = [make.beyond(b, "engine speed", b.number(0.85, 0.95))]
    return [
        make.named(
            b, "oil guard", "sensor guard", amount=make.retard(b, 3, 7), when=when, until=until
        )
    ]


def _linger(b: Bench) -> list[make.Correction]:
    when = [b.on("pit") | {"linger": b.number(1.0, 3.0)}]
    return [make.named(b, "pit", "driver switch", amount=make.retard(b, 3, 7), when=when)]


def _since(b: Bench) -> list[make.Correction]:
    shut = {"signal": "throttle position", "unit": "%", "above": b.number(8, 20, 1)}
    axes = [{"since": shut, "unit": "s", "at": [0.0, b.number(0.5, 1.0), b.number(1.5, 3.0)]}]
    return [make.named(b, "overrun", "other", axes=axes, values=[make.retard(b, 5, 9),
                       make.retard(b, 2, 4), 0.0], when=[shut])]  # fmt: skip


def _rate(b: Bench) -> list[make.Correction]:
    fast = {"signal": "throttle position", "unit": "%", "rate": 0.1, "above": b.number(60, 150, 10),
            "linger": b.number(0.3, 0.8)}  # fmt: skip
    return [make.named(b, "boost", "other", amount=make.retard(b, 5, 9), when=[fast])]


def _any(b: Bench) -> list[make.Correction]:
    ways = [b.on("wet"), make.beyond(b, "intake air temperature", b.number(0.6, 0.8))]
    when = [{"any": ways}, make.beyond(b, "throttle position", b.number(0.1, 0.4))]
    return [make.named(b, "wet", "other", amount=make.retard(b, 3, 7), when=when)]


def _after_another(b: Bench) -> list[make.Correction]:
    first = make.wet(b)
    second = make.named(b, "slip", "other", amount=make.retard(b, 2.5, 5),
                        when=[{"correction": first["id"], "is": "active"}])  # fmt: skip
    return [first, second]


def _overrun(b: Bench) -> list[make.Correction]:
    when = [{"signal": "throttle position", "unit": "%", "below": 1.5},
            make.beyond(b, "engine speed", b.number(0.1, 0.3))]  # fmt: skip
    return [make.named(b, "overrun", "overrun", amount=make.retard(b, 6, 14), when=when)]


def _after_start(b: Bench) -> list[make.Correction]:
    runs = {"signal": "engine speed", "unit": "rpm", "above": 500.0}
    axes = [{"since": runs, "unit": "s", "at": [0.0, b.number(3, 5), b.number(7, 12)]}]
    return [make.named(b, "start", "after start", axes=axes, values=[make.retard(b, 6, 12),
                       make.retard(b, 3, 5), 0.0], expected="heats the catalyst")]  # fmt: skip


def _ratio(b: Bench) -> list[make.Correction]:
    pressed = {"signal": "manifold absolute pressure", "over": "barometric pressure", "unit": "kPa",
               "above": b.number(1.25, 1.5, 0.05)}  # fmt: skip
    return [make.named(b, "boost", "boost", amount=make.retard(b, 3, 7), when=[pressed])]


MAKERS = {
    "rev limit": _rev, "cap": _cap, "floor": _floor, "base": _base, "blend": _blend, "ramp": _ramp,
    "ramp both ways": _ramps, "held": _held, "hysteresis": _hysteresis, "latch": _latch,
    "linger": _linger, "since": _since, "rate": _rate, "any": _any, "after another": _after_another,
    "overrun": _overrun, "after start": _after_start, "ratio": _ratio,
}  # fmt: skip
