"""Drives: what somebody does with a vehicle in half a minute to a few minutes."""

from collections.abc import Callable, Sequence

import numpy as np

from tuneledger.car.driver import Leg
from tuneledger.car.vehicle import Vehicle

Random = np.random.Generator


def hill(rng: Random, v: Vehicle) -> tuple[Leg, ...]:
    """A hill climb: idle at the line, a launch, straights and corners, roll out and stop."""
    legs = [Leg("idle", rng.uniform(3, 6)), Leg("launch", rng.uniform(0.8, 1.6), 100)]
    for _ in range(int(rng.integers(3, 6))):
        side = float(rng.choice([-1.0, 1.0]))
        legs += [
            Leg("pedal", rng.uniform(2.5, 5.0), rng.uniform(85, 100)),
            Leg("brake", rng.uniform(0.7, 1.5), lateral=0.4 * side),
            Leg("pedal", rng.uniform(1.0, 2.2), rng.uniform(15, 45), lateral=side),
        ]
    return (*legs, Leg("coast", rng.uniform(1, 3)), Leg("brake", 3.0), Leg("idle", 3.0))


def mile(rng: Random, v: Vehicle) -> tuple[Leg, ...]:
    """A standing half mile: launch, one long pull through the gears, coast and brake."""
    return (
        Leg("idle", rng.uniform(4, 8)),
        Leg("launch", rng.uniform(1.0, 2.5), 100),
        Leg("pedal", rng.uniform(14, 20), 100),
        Leg("coast", rng.uniform(3, 6)),
        Leg("brake", 4.0),
        Leg("idle", rng.uniform(3, 6)),
    )


def harbour(rng: Random, v: Vehicle) -> tuple[Leg, ...]:
    """A launch leaves the harbour: idle, slow ahead, full ahead, cruise, throttle shut."""
    return (
        Leg("idle", rng.uniform(4, 7)),
        Leg("pedal", rng.uniform(4, 7), rng.uniform(8, 18)),
        Leg("pedal", rng.uniform(8, 14), rng.uniform(80, 100)),
        Leg("pedal", rng.uniform(5, 9), rng.uniform(25, 45)),
        Leg("pedal", rng.uniform(2, 4), rng.uniform(60, 90)),
        Leg("coast", rng.uniform(3, 5)),
        Leg("idle", rng.uniform(3, 6)),
    )


def dyno(rng: Random, v: Vehicle) -> tuple[Leg, ...]:
    """Dynamometer pulls in one gear at several pedal positions, with a rest between."""
    if v.is_boat:
        return harbour(rng, v)
    legs = [Leg("idle", rng.uniform(3, 5))]
    for level in (rng.uniform(35, 60), 100.0, 100.0):
        low, high = rng.uniform(0.28, 0.36), rng.uniform(0.9, 0.98)
        legs.append(Leg("pull", rng.uniform(6, 9), level, rpm=(low * v.redline, high * v.redline)))
        legs += [Leg("coast", rng.uniform(2, 3)), Leg("idle", rng.uniform(1.5, 3))]
    return tuple(legs)


def town(rng: Random, v: Vehicle) -> tuple[Leg, ...]:
    """Light driving: a few speeds, stops in between, nothing above half pedal."""
    if v.is_boat:
        return (
            Leg("idle", rng.uniform(3, 5)),
            *(Leg("pedal", rng.uniform(3, 5), rng.uniform(8, 45)) for _ in range(5)),
            Leg("idle", 3.0),
        )
    legs = [Leg("idle", rng.uniform(3, 6))]
    legs += [Leg("speed", rng.uniform(5, 8), float(speed)) for speed in rng.uniform(25, 85, 4)]
    return (*legs, Leg("coast", 2.5), Leg("brake", 3.0), Leg("idle", rng.uniform(3, 6)))


def mixed(rng: Random, v: Vehicle) -> tuple[Leg, ...]:
    """Some of everything, at pedal positions spread evenly, in no fixed order."""
    legs: list[Leg] = []
    levels = rng.permutation([12.0, 25.0, 40.0, 55.0, 70.0, 85.0, 100.0]) + rng.uniform(-5, 0, 7)
    for level in levels.tolist():
        legs.append(Leg("pedal", rng.uniform(2.0, 4.0), level, lateral=rng.uniform(-0.8, 0.8)))
        if rng.random() < 0.5:
            legs.append(Leg("coast", rng.uniform(0.8, 2.0)))
        if rng.random() < 0.3 and not v.is_boat:
            legs.append(Leg("brake", rng.uniform(0.8, 1.6)))
    return (Leg("idle", 3.0), *legs, Leg("coast", 2.0), Leg("brake", 2.5), Leg("idle", 4.0))


def cold_start(rng: Random, v: Vehicle) -> tuple[Leg, ...]:
    """Key on, starter, fast idle, a few blips, then away gently."""
    return (
        Leg("off", rng.uniform(1.0, 2.5)),
        Leg("crank", rng.uniform(0.7, 1.3)),
        Leg("idle", rng.uniform(7, 11)),
        Leg("blip", 0.6, rng.uniform(15, 25)),
        Leg("idle", rng.uniform(3, 5)),
        Leg("pedal", rng.uniform(4, 7), rng.uniform(15, 30)),
        Leg("pedal", rng.uniform(3, 5), rng.uniform(40, 60)),
        Leg("coast", 2.0),
        Leg("idle", rng.uniform(3, 6)),
    )


def long_idle(rng: Random, v: Vehicle) -> tuple[Leg, ...]:
    """Standing and idling with a few blips, and one short trip on a light pedal."""
    return (
        Leg("idle", rng.uniform(9, 13)),
        Leg("blip", 0.5, rng.uniform(12, 25)),
        Leg("idle", rng.uniform(6, 9)),
        Leg("pedal", rng.uniform(4, 8), rng.uniform(15, 50)),
        Leg("coast", rng.uniform(1.5, 3)),
        Leg("brake", 1.5),
        Leg("idle", rng.uniform(7, 10)),
    )


def trace(kmh: Sequence[float]) -> tuple[Leg, ...]:
    """A speed trace, one value a second, such as a standard drive cycle."""
    return (Leg("trace", float(len(kmh) - 1), trace=tuple(float(v) for v in kmh)),)


Profile = Callable[[Random, Vehicle], tuple[Leg, ...]]
HARD: tuple[Profile, ...] = (hill, mile, dyno, mixed, mixed)
ALL: tuple[Profile, ...] = (*HARD, town, long_idle)


def choose(rng: Random, v: Vehicle, among: Sequence[Profile] = HARD) -> tuple[Leg, ...]:
    """One of the drives that suit the vehicle."""
    if v.is_boat and among is HARD:
        among = (harbour, mixed)
    return among[int(rng.integers(len(among)))](rng, v)
