"""What a driver can set without risk, channel by channel, and in which steps that matter.

A throttle stays light, an engine is not held at high speed, made hot or starved, a road speed
stays modest. Manifold pressure, oil pressure, voltage and the like only follow. A switch that by
its name protects something is left alone. Levels are common practice, no source.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.ledger.book import Book
from tuneledger.logs.model import Channel
from tuneledger.record import record
from tuneledger.roles.model import Role
from tuneledger.wording import number, quantity, visible

LIGHT_PCT = 30.0
_HIGHEST_SHARE = 0.7  # of the highest engine speed in the log
_ROAD_KMH = 80.0
_WARMEST = {
    "engine coolant temperature": 95.0,
    "oil temperature": 105.0,
    "intake air temperature": 45.0,
}
_COLDEST_C = 10.0
SWITCH_PRICE = 0.02  # nats: of two alike the one with fewer switches, judgement
_MOST_LEVELS = 8
# A driver does not turn a switch in more than one row of so many.
_TURNED_SHARE = 0.02

# Parts of words, in some languages, that mark a switch as one that protects.
_PROTECTS = (
    *("guard", "protect", "safe", "limp", "warn", "alarm", "fault", "error", "fail", "cut"),
    *("knock", "schutz", "notlauf", "fehler", "secur", "secour", "panne", "defaut", "défaut"),
    *("protec", "segur", "fallo", "sicur", "guasto", "emerg", "skydd", "nöd", "fel"),
)


@record
class Option:
    """One way to set one channel: a value in the log's unit, and how to say it.

    price:  bits that it has to bring at least, for the trouble
    fresh:  the switch has only just been turned to it
    moving: the car has to be driven for it
    """

    channel: str
    value: float
    says: str
    price: float
    fresh: bool = False
    moving: bool = False


def options(
    book: Book, channel: Channel, cuts: Iterable[float], *, timed: bool
) -> Iterator[Option]:
    """The ways in which the channel can be set that the explanations may tell apart.

    cuts:  numbers of the channel at which any explanation changes its mind
    timed: an explanation counts from the moment at which it turns
    """
    values = book.inputs.channel(channel.name, None)
    if values is None:
        return
    known = values[np.isfinite(values)]
    if known.size == 0:
        return
    role = book.roles.of(channel)
    if role is None or role.signal == "gear":
        yield from _turned(channel, known, timed=timed, gear=role is not None)
    elif (span := _span(role, known)) is not None:
        yield from _placed(channel, role.signal, sorted(set(cuts)), span)


def _turned(channel: Channel, known: FloatArray, *, timed: bool, gear: bool) -> Iterator[Option]:
    levels = np.unique(known)
    if levels.size < 2 or levels.size > _MOST_LEVELS or (levels != np.round(levels)).any():
        return
    if (np.diff(known) != 0).mean() > _TURNED_SHARE or _protects(channel.name):
        return
    name = visible(channel.name)
    two = set(levels.tolist()) <= {0.0, 1.0}
    for level in levels.tolist():
        if gear and level < 1:
            continue
        said = f"{name} {'on' if level else 'off'}" if two else f"{name} at {number(level)}"
        yield Option(channel.name, level, said, SWITCH_PRICE, moving=gear)
        if timed and two:
            how = "switched on" if level else "let go"
            yield Option(channel.name, level, f"{name} just {how}", 0.04, fresh=True)


def _protects(name: str) -> bool:
    folded = name.casefold()
    return any(part in folded for part in _PROTECTS)


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
        if low == span[0]:
            said = f"{name} below {quantity(high, unit)}"
        elif high == span[1]:
            said = f"{name} above {quantity(low, unit)}"
        else:
            said = f"{name} between {quantity(low, None)} and {quantity(high, unit)}"
        yield Option(channel.name, 0.5 * (low + high), said, price, moving=moving)
