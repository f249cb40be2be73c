"""Runs that show only a little of what a signal can be: an idle, a steady cruise, a full pull.

What each signal looks like is told of a whole drive. A channel whose name and label say a signal,
and whose numbers all can be it, does not lose it because the engine did one thing only; nor is a
throttle that stays shut below 1 % a fraction from 0 to 1, nor a full pull logged as a fraction a
throttle that stays shut.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.roles import fills, values
from tuneledger.roles.facts import Facts
from tuneledger.roles.looks import LOOKS
from tuneledger.roles.values import House, Judged, Reading

_NAMED = 2.0
# No witness against a name and a label that agree, and hardly one for them.
_LITTLE = -1.0
_PLATES = ("throttle position", "accelerator position")
# An engine with its throttle shut, common practice: slow, on a car that stands or rolls, in vacuum.
_IDLE_RPM, _ROLLING_KMH, _VACUUM_KPA = 1600.0, 20.0, 70.0
# A plate that stands at so much of a fraction is open; shut, it hardly stands so near to 1 %.
_OPEN = 0.9
# A foot that drives a car moves a plate by more than this share of its way.
_MOVES = 0.3
# Noise at the ends of what can be.
_ROOM = 0.02


def allow(
    facts: Sequence[Facts], signals: Sequence[str], named: FloatArray, judged: Judged, house: House
) -> Judged:
    """What the values say, where names and labels agree that a narrow run is a signal."""
    if not facts:
        return judged
    weights, readings = judged.weights.copy(), dict(judged.readings)
    shut = _stays_shut(facts, signals, named)
    pulls = _pulls(facts, signals, named)
    # Where another channel of that name goes through all of it, a narrow one is no run of it.
    whole = ((named >= _NAMED) & (judged.weights > 0.0)).any(axis=0)
    for i, j in np.argwhere((named >= _NAMED) & ~whole):
        own, signal = facts[i], signals[j]
        fraction = _as_fraction(own, signal, house, shut=shut, pulls=pulls)
        if fraction is not None:
            weights[i, j] = max(weights[i, j], _LITTLE)
            readings[int(i), signal] = fraction
            continue
        plain = plainly(own, signal, house)
        best = readings.get((int(i), signal))
        if plain is None or best is None or not _within_a_drive(own, signal, plain):
            continue
        tiny = signal in _PLATES and own.high <= 1.0
        closed = tiny and (own.span < _MOVES if shut is None else shut)
        sure_of = own.labelled or (signal == "engine speed" and _stands_at_zero(own))
        if closed or (not tiny and sure_of and best.relabelled is None):
            weights[i, j] = max(weights[i, j], _LITTLE)
            readings[int(i), signal] = plain
    return Judged(weights, readings)


def _as_fraction(
    facts: Facts, signal: str, house: House, *, shut: bool | None, pulls: bool | None
) -> Reading | None:
    """A plate that never goes beyond 1 on an engine that pulls, read as a fraction; else None.

    Read as percent it would be shut all along, whatever its label says: idle and overrun would be
    seen where there is full load.
    """
    if signal not in _PLATES or not _MOVES < facts.high <= 1.0 + _ROOM:
        return None
    if facts.channel.name in house.told:
        return None
    opened = pulls if pulls is not None else shut is False and facts.high >= _OPEN
    unit = facts.unit
    ways = values.ways_to_read(signal, unit.symbol if unit else None, house) if opened else []
    return next((r for r in ways if r.unit == "1" and not r.from_air), None)


def _pulls(facts: Sequence[Facts], signals: Sequence[str], named: FloatArray) -> bool | None:
    """Whether speed and manifold pressure show an engine that turns with its throttle open; None
    where no pressure is logged under a name and label that say so."""
    pressure, speed = (
        _highest(facts, signals, named, signal)
        for signal in ("manifold absolute pressure", "engine speed")
    )
    if speed is not None and speed <= _IDLE_RPM:
        return False  # before it starts, the manifold is full of air
    return None if pressure is None else pressure > _VACUUM_KPA


def _highest(
    facts: Sequence[Facts], signals: Sequence[str], named: FloatArray, signal: str
) -> float | None:
    """The highest that the channels named so go to, read as they are labelled."""
    if signal not in signals:
        return None
    j = list(signals).index(signal)
    found = []
    for i in map(int, np.flatnonzero(named[:, j] >= _NAMED)):
        reading = plainly(facts[i], signal, values.USUAL)
        if reading is not None:
            found.append(reading.scale * facts[i].high + reading.offset)
    return max(found, default=None)


def plainly(facts: Facts, signal: str, house: House) -> Reading | None:
    """A channel read as it is labelled; None where its label is of another kind."""
    unit = facts.unit
    ways = values.ways_to_read(signal, unit.symbol if unit else None, house)
    return next((r for r in ways if r.relabelled is None and not r.from_air), None)


def _stands_at_zero(facts: Facts) -> bool:
    """Zero is zero in every unit: an engine that does not turn."""
    return facts.distinct == 1 and facts.mid == 0.0


def _within_a_drive(facts: Facts, signal: str, reading: Reading) -> bool:
    """Whether all that is logged lies within what the signal goes through in a whole drive."""
    low, high = sorted(reading.scale * x + reading.offset for x in (facts.low, facts.high))
    look, (least, most) = LOOKS[signal], fills.can_be(signal)
    room = _ROOM * (most - least)
    empty = facts.distinct == 1 and fills.stands_empty(low, signal)
    least, most = max(least - room, look.low[0]), min(most + room, look.high[3])
    return least <= low and high <= most and not empty


def _stays_shut(facts: Sequence[Facts], signals: Sequence[str], named: FloatArray) -> bool | None:
    """Whether the log's other channels show an engine whose throttle never opened; None where there
    are none to show it.
    """
    limits = {
        "engine speed": _IDLE_RPM,
        "vehicle speed": _ROLLING_KMH,
        "manifold absolute pressure": _VACUUM_KPA,
    }
    shown = None
    for signal, most in limits.items():
        j = signals.index(signal)
        i = int(named[:, j].argmax())
        reading = plainly(facts[i], signal, values.USUAL)
        if named[i, j] < _NAMED or reading is None:
            continue
        if reading.scale * facts[i].high + reading.offset > most:
            return False
        shown = True
    return shown
