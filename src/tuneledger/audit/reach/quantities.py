"""What a reading is made of, and what each quantity can be.

A quantity is a signal in its own unit, a channel in the unit in which the sheet first reads it, a
time that passes, or what a reading was some seconds ago. A `Form` is a reading written over
quantities; two readings of one quantity in two units share it.
"""

from collections.abc import Mapping
from math import inf
from typing import TypeAlias

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Reading
from tuneledger.record import record
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion, parse_unit

Key: TypeAlias = tuple[str, ...]
Span: TypeAlias = tuple[FloatArray, FloatArray]

_ABSOLUTE = ("manifold absolute pressure", "barometric pressure")


@record
class Named:
    """A quantity as a reading sees it: scale × quantity + offset."""

    key: Key
    scale: float = 1.0
    offset: float = 0.0

    def of(self, values: FloatArray) -> FloatArray:
        return self.scale * values + self.offset


@record
class Form:
    """((main − minus) ÷ over), and the change of it per second over `rate` seconds.

    A number in the reading's unit. `key` is the same for the same form of the same quantities.
    """

    main: Named
    minus: Named | None = None
    over: Named | None = None
    rate: float | None = None

    @property
    def key(self) -> Key:
        parts = [self.main, self.minus, self.over]
        if not self.is_plain:
            return ("form", *(repr(part) for part in parts), repr(self.rate))
        return self.main.key

    @property
    def is_plain(self) -> bool:
        return self.minus is None and self.over is None and self.rate is None

    @property
    def quantities(self) -> tuple[Key, ...]:
        """Each quantity as often as it occurs."""
        return tuple(p.key for p in (self.main, self.minus, self.over) if p is not None)

    def span(self, spans: Mapping[Key, Span]) -> Span:
        """The lowest and highest that it can be, each quantity anywhere within its own span."""
        low, high = _scaled(self.main, spans)
        if self.minus is not None:
            less, more = _scaled(self.minus, spans)
            low, high = low - more, high - less
        if self.over is not None:
            low, high = _divided((low, high), _scaled(self.over, spans))
        if self.rate is not None:
            low, high = (low - high) / self.rate, (high - low) / self.rate
        return low, high


def _scaled(named: Named, spans: Mapping[Key, Span]) -> Span:
    ends = [named.of(end) for end in spans[named.key]]
    return np.minimum(*ends), np.maximum(*ends)


def _divided(above: Span, below: Span) -> Span:
    """A quotient's span; without bounds where the divisor can be 0 or change its sign."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = np.stack(np.broadcast_arrays(*(a / b for a in above for b in below)))
    crosses = (below[0] < 0.0) & (below[1] > 0.0)
    at_zero = (below[0] == 0.0) | (below[1] == 0.0)
    with np.errstate(invalid="ignore"):
        low, high = np.fmin.reduce(ends), np.fmax.reduce(ends)
    sign = np.where(below[1] > 0.0, 1.0, -1.0)
    rises, falls = (above[1] * sign > 0.0) | crosses, (above[0] * sign < 0.0) | crosses
    open_ends = crosses | at_zero
    return (
        np.where(open_ends, np.where(falls, -inf, np.minimum(low, 0.0)), low),
        np.where(open_ends, np.where(rises, inf, np.maximum(high, 0.0)), high),
    )


class Quantities:
    """The quantities of one sheet, met one after the other."""

    def __init__(self) -> None:
        self._units: dict[str, str] = {}
        self.vague: set[str] = set()  # channels read both with a unit and without

    def form(self, reading: Reading) -> Form:
        """The form of a reading that is no `since`."""
        unit = reading.unit
        main = self._named(reading.signal, reading.channel, unit)
        minus = None if reading.minus is None else self._second(reading.minus, unit)
        over = None if reading.over is None else self._divisor(reading.over, unit)
        return Form(main, minus, over, reading.rate)

    def span(self, key: Key) -> Span:
        """What a quantity can be; a channel that is no signal can be any number."""
        if key[0] == "signal":
            signal = SIGNALS[key[1]]
            return np.float64(signal.lowest), np.float64(signal.highest)  # type: ignore[return-value]
        low = 0.0 if key[0] in ("since", "held", "linger") else -inf
        return np.float64(low), np.float64(inf)  # type: ignore[return-value]

    def _second(self, name: str, unit: str | None) -> Named:
        if name in SIGNALS:
            return self._named(name, None, unit)
        return self._named(None, name, unit)

    def _divisor(self, name: str, unit: str | None) -> Named:
        """In the reading's unit where it can be, else in its own."""
        own = SIGNALS[name].unit if name in SIGNALS else None
        if unit is not None and own is not None and conversion(own, unit) is None:
            unit = None
        return self._second(name, unit)

    def _named(self, signal: str | None, channel: str | None, unit: str | None) -> Named:
        if channel is None:
            return _signal(signal or "", unit)
        name = channel.casefold()
        first = self._units.setdefault(name, unit or "")
        if unit is None or first == unit:
            if unit is None and first:
                self.vague.add(channel)
            return Named(("channel", name, first if unit else ""))
        found = conversion(first, unit) if first else None
        if found is None:
            self.vague.add(channel)
            return Named(("channel", name, unit))
        return Named(("channel", name, first), *found)


def _signal(name: str, unit: str | None) -> Named:
    own = SIGNALS[name].unit
    if unit is None or unit == own:
        return Named(("signal", name))
    scale, offset = conversion(own, unit) or (1.0, 0.0)
    parsed = parse_unit(unit)
    if parsed is not None and parsed.gauge and name in _ABSOLUTE:
        from tuneledger.roles.values import AIR_KPA  # all of roles, for one number that few need

        offset -= AIR_KPA * scale  # read against the standard atmosphere
    return Named(("signal", name), scale, offset)
