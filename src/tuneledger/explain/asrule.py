"""A sheet's correction said as a rule on a log: in the log's own channel names and units."""

from collections.abc import Callable
from typing import Any

from tuneledger.calibrations.model import AnyOf, Comparison, Condition, Correction, Reading
from tuneledger.explain.model import Curve, Rule
from tuneledger.ledger.book import Book
from tuneledger.logs.model import Channel
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

_LIMITS = ("above", "below", "release")
_TIMES = ("held", "linger")


def as_rule(correction: Correction, book: Book) -> Rule | None:
    """The correction as a rule, or None where the rule's form or the log cannot carry it.

    A rule adds degrees under conditions: an amount, or a curve along one channel. It holds no
    difference of two channels and no rate.
    """
    if correction.effect != "add" or correction.until is not None or not correction.has_numbers:
        return None
    try:
        when = tuple(_condition(one, book) for one in correction.when)
        if not correction.axes:
            return Rule(when, amount_deg=correction.amount, ramp=_ramp(correction))
        if len(correction.axes) > 1:
            return None
        axis = correction.axes[0]
        channel, back = _read(axis, book)
    except _UnsaidError:
        return None
    points = sorted(zip((back(x) for x in axis.at), correction.grid.tolist(), strict=True))
    at, deg = (tuple(round(float(x), 4) for x in column) for column in zip(*points, strict=True))
    return Rule(when, along=Curve(channel.name, at, deg), ramp=_ramp(correction))


class _UnsaidError(Exception):
    """The form of a rule cannot say this part."""


def _ramp(correction: Correction) -> Any:
    ramps = correction.ramps
    return None if ramps is None else {"down": ramps.down, "up": ramps.up}


def _condition(one: Condition, book: Book) -> dict[str, Any]:
    if isinstance(one, AnyOf):
        return {"any": [_condition(part, book) for part in one.any]}
    if not isinstance(one, Comparison):
        raise _UnsaidError
    if one.since is not None:
        out: dict[str, Any] = {"since": _condition(one.since, book), "unit": "s"}
        back: Callable[[float], float] = float
    else:
        channel, back = _read(one, book)
        out = {"channel": channel.name}
    for word in _LIMITS:
        value = getattr(one, word)
        if value is not None:
            out[word] = round(back(value), 4)
    if one.between is not None:
        out["between"] = sorted(round(back(x), 4) for x in one.between)
    if one.is_ is not None:
        out["is"] = one.is_
    for word in _TIMES:
        if getattr(one, word):
            out[word] = getattr(one, word)
    return out


def _read(reading: Reading, book: Book) -> tuple[Channel, Callable[[float], float]]:
    """The channel, and how a number of the sheet reads on it. A scale that turns the sign would
    turn above into below: that is left unsaid."""
    if reading.minus or reading.over or reading.rate is not None:
        raise _UnsaidError
    if reading.signal in SIGNALS:
        role = book.roles.get(str(reading.signal))
        if role is None or role.scale <= 0:
            raise _UnsaidError
        own = SIGNALS[str(reading.signal)].unit
        scale, offset = _units(reading.unit, own)
        return role.channel, lambda x: (scale * x + offset - role.offset) / role.scale
    channel = book.log.find(str(reading.channel or reading.signal))
    if channel is None:
        raise _UnsaidError
    scale, offset = _units(reading.unit, channel.unit)
    return channel, lambda x: scale * x + offset


def _units(wanted: str | None, own: str | None) -> tuple[float, float]:
    if not wanted or not own or wanted == own:
        return 1.0, 0.0
    found = conversion(wanted, own)
    if found is None:
        raise _UnsaidError
    return found
