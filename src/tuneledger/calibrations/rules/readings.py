"""Readings: one source each, a known signal, a unit that fits it."""

from collections.abc import Iterator

from tuneledger.calibrations.nearest import did_you_mean, nearest
from tuneledger.calibrations.rules.scope import Scope
from tuneledger.calibrations.tree import Spot, quoted
from tuneledger.errors import Fault
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion, parse_unit
from tuneledger.wording import listing

LOAD = "engine load"  # a share; what else is called load (air mass, torque) has no fixed one
SOURCES = ("signal", "channel", "since")
AS_LOGGED = "Leave unit out to take the channel as the log has it."
BY_NAME = (
    "Name the channel that the log has in this unit, in place of the signal: "
    '{ channel = "NAME", unit = %s, … }.'
)
PER_SECOND = "Give the unit of the quantity itself; per second is understood."
KEYS = (*SOURCES, "unit", "minus", "over", "rate", "at", "above", "below", "between", "is")
KEYS_OF_CONDITIONS = (*KEYS, "release", "held", "linger", "any", "correction")


def reading(spot: Spot, scope: Scope) -> Iterator[Fault]:
    """An axis or a comparison, as far as what it reads goes."""
    from tuneledger.calibrations.rules.conditions import condition  # they hold one another

    if not spot.is_part:
        return
    given = tuple(name for name in SOURCES if name in spot)
    if not given and not misspelt(spot, (*SOURCES, "correction", "any")):
        yield spot.fault("reads nothing", f"one of {listing(SOURCES, 'or')}")
    if len(given) > 1:
        yield spot.fault(f"reads {listing(given)} at once", f"one of {listing(SOURCES, 'or')}")
    for key in ("minus", "over", "rate"):
        if "since" in spot and key in spot:
            yield spot[key].fault(f"{key} of the seconds since a condition", "since by itself")
    signal = spot["signal"].text
    if signal and signal not in SIGNALS:
        yield spot["signal"].fault(f"no signal {quoted(signal)}", do=did_you_mean(signal, SIGNALS))
    yield from _unit(spot)
    yield from condition(spot["since"], scope)


def misspelt(spot: Spot, wanted: tuple[str, ...]) -> bool:
    """Whether an unknown key looks like one that is wanted: then that is the fault to tell."""
    strange = [key for key in spot.names if key not in KEYS_OF_CONDITIONS]
    return any(nearest(key, KEYS_OF_CONDITIONS) in wanted for key in strange)


def _unit(spot: Spot) -> Iterator[Fault]:
    """The unit is one that is known, and of the kind that is read."""
    unit, signal = spot["unit"], spot["signal"].text
    own = "s" if "since" in spot else SIGNALS[signal].unit if signal in SIGNALS else None
    if unit.text and unit.text != own and parse_unit(unit.text) is None:
        expected = f"a unit such as {own}" if own else None
        do = PER_SECOND if "rate" in spot else AS_LOGGED if "channel" in spot else None
        yield unit.fault(f"no unit {quoted(unit.text)}", expected, do)
        return
    if unit.text and own is not None and _differ(unit.text, own):
        do = BY_NAME % quoted(unit.text) if signal == LOAD else None
        yield unit.fault(f"{quoted(unit.text)} for {_what(spot)}", _expected(own), do)
    yield from _second(spot, unit.text or own)


def _second(spot: Spot, used: str | None) -> Iterator[Fault]:
    """What is taken away is read in the same unit; a ratio may be of two different kinds."""
    other = SIGNALS.get(spot["minus"].text or "")
    if other is not None and used and _differ(used, other.unit):
        found = f"{other.name} cannot be taken from {_what(spot)} in {used}"
        yield spot["minus"].fault(found, "two quantities of one kind")


def _differ(unit: str, own: str) -> bool:
    return unit.strip() != own and conversion(unit, own) is None


def _what(spot: Spot) -> str:
    return spot["signal"].text or spot["channel"].text or "seconds since a condition"


def _expected(own: str) -> str:
    return f"a unit that turns into {own}" if own else "no unit"
