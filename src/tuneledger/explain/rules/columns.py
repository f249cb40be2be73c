"""The channels that a rule may read, and how plausible each is as an input of an ECU's correction.

The clock, a counter and a position are poor inputs: they separate any two stretches of one run and
mean nothing on the next. A channel that a role names is a better one than a twin of it.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tuneledger.arrays import FloatArray, each_once
from tuneledger.explain.doubt import resolved
from tuneledger.ledger.book import Book
from tuneledger.logs.model import Channel
from tuneledger.units import parse_unit

# Nats: what it costs a rule to read such a channel, beside what every condition costs.
ROLE, SWITCH, OTHER, WARMING, ODD = 0.0, 0.5, 2.0, 1.5, 6.0

_MOST_LEVELS = 8
_PHYSICAL = ("temperature", "pressure", "rotation", "speed", "voltage", "angle")
_COUNTED = ("time", "length", "volume", "mass")
_OUTPUTS = ("scheduled advance", "delivered advance", "time")


@dataclass(frozen=True, eq=False)
class Column:
    """One channel on the ledger's rows, in the log's own unit.

    levels: its distinct values where they are few and whole (a switch, a gear, a selector), else
            empty
    price:  nats for reading it
    resolved: how finely the log has it, see `doubt`
    """

    channel: Channel
    values: FloatArray
    levels: tuple[float, ...]
    price: float
    resolved: float

    @property
    def name(self) -> str:
        return self.channel.name


def columns(book: Book) -> Iterator[Column]:
    """Every channel with samples that is not itself an advance or the clock."""
    outputs = {role.channel for signal in _OUTPUTS if (role := book.roles.get(signal)) is not None}
    for channel in book.log.channels:
        if channel in outputs or channel == book.log.time:
            continue
        values = book.inputs.channel(channel.name, None)
        if values is None or np.isfinite(values).sum() < 0.5 * values.size:
            continue
        levels = _levels(values)
        price = _price(book, channel, values, levels)
        yield Column(channel, values, levels, price, resolved(values))


def _levels(values: FloatArray) -> tuple[float, ...]:
    finite = values[np.isfinite(values)]
    few = each_once(finite[:: max(1, finite.size // 500)])
    if few.size > _MOST_LEVELS:
        return ()
    distinct = each_once(finite)
    whole = distinct.size <= _MOST_LEVELS and bool(np.all(distinct == np.round(distinct)))
    return tuple(distinct.tolist()) if whole else ()


def _price(book: Book, channel: Channel, values: FloatArray, levels: tuple[float, ...]) -> float:
    if levels:
        return SWITCH
    named = book.roles.of(channel) is not None
    if _one_way(values):
        odd = not named and _counts(book, channel, values)
        return ODD if odd else WARMING + (0.0 if named else OTHER)
    return ROLE if named else OTHER


def _one_way(values: FloatArray) -> bool:
    """Only up or only down all through the log: it parts any two stretches of one run."""
    steps = np.diff(values[np.isfinite(values)])
    moving = steps[steps != 0]
    against = min(int((moving > 0).sum()), int((moving < 0).sum()))
    return bool(moving.size > 10 and against <= 0.01 * moving.size)


def _counts(book: Book, channel: Channel, values: FloatArray) -> bool:
    """A clock, a counter, a distance or fuel used, and not something warm that gets warmer."""
    unit = parse_unit(channel.unit) if channel.unit else None
    if unit is not None and unit.kind in _PHYSICAL:
        return False
    known = np.isfinite(values)
    straight = float(np.corrcoef(values[known], book.times[known])[0, 1])
    return unit is None or unit.kind in _COUNTED or abs(straight) > 0.9999
