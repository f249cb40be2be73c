"""What a driver can set without risk, channel by channel, and in which steps that matter.

A throttle stays light, an engine is not held at high speed, made hot or starved, a road speed
stays modest. Manifold pressure, oil pressure, voltage and the like only follow. A switch is asked
for where it is known to be harmless (`purpose`), else only watched. Levels are common practice, no
source.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Calibration
from tuneledger.explain.experiments.purpose import Purpose, purpose
from tuneledger.ledger.book import Book
from tuneledger.logs.model import Channel
from tuneledger.record import record
from tuneledger.roles.model import Role
from tuneledger.wording import number, quantity, visible

# A light throttle, and a speed that a road allows: common practice, no source.
LIGHT_PCT = 30.0
_HIGHEST_SHARE = 0.7  # of the highest engine speed in the log
_ROAD_KMH = 80.0
_WARMEST = {
    "engine coolant temperature": 95.0,
    "oil temperature": 105.0,
    "intake air temperature": 45.0,
}
# No colder than a car is found in, and no more levels than a switch or a selector has: judgement.
_COLDEST_C = 10.0
# An engine below its working temperature is neither driven fast nor revved.
_WORKING = frozenset({"engine coolant temperature", "oil temperature"})
SWITCH_PRICE = 0.02  # bits: of two alike the one with fewer switches, judgement
_MOST_LEVELS = 8
# A driver does not turn a switch in more than one row of so many.
_TURNED_SHARE = 0.02


@record
class Option:
    """One way to set one channel: a value in the log's unit, and how to say it.

    price:  bits that it has to bring at least, for the trouble
    fresh:  the switch has only just been turned to it
    moving: the car has to be driven for it
    switch: somebody has to turn a switch for it
    cold:   the engine has to be colder than usual for it
    """

    channel: str
    value: float
    says: str
    price: float
    fresh: bool = False
    moving: bool = False
    switch: bool = False
    cold: bool = False


def options(
    book: Book,
    channel: Channel,
    cuts: Iterable[float],
    *,
    timed: bool,
    sheets: Sequence[Calibration] = (),
) -> Iterator[Option]:
    """The ways in which the channel can be set that the explanations may tell apart.

    cuts:  numbers of the channel at which any explanation changes its mind
    timed: an explanation counts from the moment at which it turns
    sheets: what says which switches are the driver's
    """
    known = _known(book, channel)
    role = book.roles.of(channel)
    if role is not None and role.signal == "gear":
        yield from _geared(channel, known)
    elif role is None and _is_switch(known):
        yield from _switched(channel, purpose(channel.name, sheets), timed=timed)
    elif role is not None and known.size and (span := _span(role, known)) is not None:
        yield from _placed(channel, role.signal, sorted(set(cuts)), span)


def left_alone(book: Book, names: Iterable[str], offered: Iterable[Option]) -> tuple[str, ...]:
    """The channels that look like switches or modes and that nobody is asked to set."""
    settable = {option.channel for option in offered}
    return tuple(
        name
        for name in names
        if name not in settable
        and (channel := book.log.find(name)) is not None
        and book.roles.of(channel) is None
        and _levels(_known(book, channel)).size
    )


def _known(book: Book, channel: Channel) -> FloatArray:
    values = book.inputs.channel(channel.name, None)
    return np.empty(0) if values is None else values[np.isfinite(values)]


def _levels(known: FloatArray) -> FloatArray:
    """The few whole numbers between which a channel goes; empty where it is none of that kind."""
    levels = np.unique(known)
    few = 2 <= levels.size <= _MOST_LEVELS and (levels == np.round(levels)).all()
    return levels if few else levels[:0]


def _is_switch(known: FloatArray) -> bool:
    """Whether it is on or off, and not so often turned that no driver does it."""
    two = _levels(known).tolist() == [0.0, 1.0]
    return two and bool((np.diff(known) != 0).mean() <= _TURNED_SHARE)


def _geared(channel: Channel, known: FloatArray) -> Iterator[Option]:
    for level in _levels(known).tolist():
        if level >= 1:
            said = f"{visible(channel.name)} at {number(level)}"
            yield Option(channel.name, level, said, SWITCH_PRICE, moving=True)


def _switched(channel: Channel, may: Purpose, *, timed: bool) -> Iterator[Option]:
    name = visible(channel.name)
    for level in {"either": (0.0, 1.0), "on": (1.0,), "watch": ()}[may]:
        said = f"{name} {'on' if level else 'off'}"
        yield Option(channel.name, level, said, SWITCH_PRICE, switch=True)
        if timed:
            how = f"{name} just {'switched on' if level else 'let go'}"
            yield Option(channel.name, level, how, 0.04, fresh=True, switch=True)


def _span(role: Role, known: FloatArray) -> tuple[float, float] | None:
    """The lowest and the highest number of the channel that may be asked for."""
    own = role.read(known)
    low, high = float(own.min()), float(own.max())
    if role.signal in ("throttle position", "accelerator position"):
        high = min(high, low + LIGHT_PCT)
    elif role.signal == "engine speed":
        high = _HIGHEST_SHARE * high
    elif role.signal == "vehicle speed":
        high = min(high, _ROAD_KMH)
    elif role.signal in _WARMEST:
        high = min(high, _WARMEST[role.signal])
        if role.signal != "intake air temperature":
            low = min(low, _COLDEST_C)
    else:
        return None
    ends = sorted((x - role.offset) / role.scale for x in (low, high))
    return (ends[0], ends[1]) if high > low else None


def _placed(
    channel: Channel, signal: str, cuts: Sequence[float], span: tuple[float, float]
) -> Iterator[Option]:
    """A number in each stretch between the cuts, well away from them."""
    name, unit = visible(channel.name), channel.unit
    price, moving = (0.1, False) if signal in _WARMEST else (0.05, True)
    inside = [cut for cut in cuts if span[0] < cut < span[1]]
    if not inside:
        return
    for low, high in pairwise([span[0], *inside, span[1]]):
        if high - low < 0.04 * (span[1] - span[0]):
            continue
        cold = signal in _WORKING and low == span[0]
        if low == span[0]:
            said = f"{name} below {quantity(high, unit)}"
        elif high == span[1]:
            said = f"{name} above {quantity(low, unit)}"
        else:
            said = f"{name} between {quantity(low, None)} and {quantity(high, unit)}"
        yield Option(channel.name, 0.5 * (low + high), said, price, moving=moving, cold=cold)
