"""Channels that are named like a signal, and cannot be it as their numbers stand.

An engine speed of 9000 to 70,000 under its own name is no missing channel: it is one that counts in
tenths, or is not what it is named. It is not used; it is said what is wrong with it, and how to
state it where a factor of ten would put it right.
"""

from math import degrees

import numpy as np

from tuneledger.roles import fills, narrow, values
from tuneledger.roles.evidence import SOUGHT, Evidence
from tuneledger.roles.looks import LOOKS
from tuneledger.roles.model import Misfit
from tuneledger.roles.relations.common import stand_in, thin_run
from tuneledger.roles.values import Reading
from tuneledger.signals import SIGNALS
from tuneledger.units import parse_unit
from tuneledger.wording import quantity

_NAMED = 3.0
_CANNOT_BE = -3.5
_FEWEST = 20
_FACTORS = {
    0.1: "a tenth of",
    10.0: "ten times",
    0.01: "a hundredth of",
    100.0: "a hundred times",
    0.001: "a thousandth of",
    1000.0: "a thousand times",
}
# A look of which one quantile may be unusual, and none impossible.
_USUAL = -1.7
# Noise at the ends of what can be is no misfit; a tenth too many, or ten times, is far beyond.
_ROOM, _FAR = 0.2, 2.0
# An engine that drives a car, or has its throttle open, turns faster than this.
# No drive keeps its advance within this, 45° in radians; one that stands, or hardly moves, may.
_LEAST_ADVANCE, _LIVELY, _REVS_RPM = 0.8, 8, 1000.0
_SLOW_RPM, _MOVING_KMH, _OPEN_PCT, _SHARE = 1000.0, 20.0, 25.0, 0.1


def find(evidence: Evidence, signal: str, taken: frozenset[int]) -> Misfit | None:
    """What is named like a signal and cannot be it; None where there is none.

    taken: channels that are another signal
    """
    j = SOUGHT.index(signal)
    for i in np.argsort(-evidence.named[:, j])[:3]:
        if evidence.named[i, j] < _NAMED:
            return None
        if int(i) not in taken and evidence.judged[i, j] <= _CANNOT_BE:
            found = _told(evidence, int(i), signal)
            if found is not None:
                return found
    return None


def of_named(evidence: Evidence, channel: int, signal: str) -> Misfit | None:
    """What is wrong with a channel that name and label make sure of, and numbers do not."""
    facts, reading = evidence.facts[channel], evidence.readings.get((channel, signal))
    if reading is None or facts.channel.name in evidence.house.told:
        return None
    if signal.endswith("advance") and channel not in evidence.slipped:
        tiny = _no_degrees(evidence, channel, signal)
        if tiny is not None:
            return tiny
    mid, high = (reading.scale * x + reading.offset for x in (facts.mid, facts.high))
    if _far_off(mid, high, signal) or (signal == "engine speed" and _too_slow(high, evidence)):
        return _told(evidence, channel, signal)
    return None


def _no_degrees(evidence: Evidence, channel: int, signal: str) -> Misfit | None:
    """An advance that never leaves one degree while the car is driven: it counts in something else.

    That it would be usual in radians is a guess, unless a sheet bears it out.
    """
    facts = evidence.facts[channel]
    symbol = facts.unit.symbol if facts.unit else ""
    if symbol not in ("deg", "") or max(abs(facts.low), abs(facts.high)) > _LEAST_ADVANCE:
        return None
    if facts.distinct < _LIVELY or not _revs(evidence):
        return None
    says = (
        f"it runs from {quantity(facts.low, '')} to {quantity(facts.high, '')} while engine speed "
        f"goes up and down, as no advance in degrees does; its unit is not known"
    )
    radians = Reading("rad", degrees(1.0), 0.0, 0.0)
    if values.fits(facts, signal, radians) >= _USUAL:
        low, high = (degrees(x) for x in (facts.low, facts.high))
        says += f" (radians would be {low:.0f} to {quantity(round(high), 'deg')})"
        return Misfit(signal, facts.channel, says, "rad")
    return Misfit(signal, facts.channel, says)


def _revs(evidence: Evidence) -> bool:
    """Whether engine speed goes up and down as in a drive."""
    found = stand_in(evidence, "engine speed")
    if found is None:
        return False
    speed = thin_run(evidence, *found)
    return bool(np.isfinite(speed).any() and np.nanmax(speed) - np.nanmin(speed) > _REVS_RPM)


def _far_off(mid: float, high: float, signal: str) -> bool:
    """Whether half of the run lies well beyond what a signal can be, or its highest far beyond."""
    least, most = fills.can_be(signal)
    room = _ROOM * (most - least)
    return not least - room <= mid <= most + room or high > _FAR * most


def _usual(mid: float, signal: str) -> bool:
    """Whether the middle of a run's values is nothing out of the way."""
    _, low, high, _ = LOOKS[signal].mid
    return low <= mid <= high


def _too_slow(high: float, evidence: Evidence) -> bool:
    """Whether an engine speed never leaves the starter's while the car is driven."""
    return high < _SLOW_RPM and _driven(evidence)


def _driven(evidence: Evidence) -> bool:
    for signal, least in (("vehicle speed", _MOVING_KMH), ("throttle position", _OPEN_PCT)):
        found = stand_in(evidence, signal)
        if found is not None and (thin_run(evidence, *found) > least).mean() > _SHARE:
            return True
    return False


def _told(evidence: Evidence, channel: int, signal: str) -> Misfit | None:
    facts = evidence.facts[channel]
    reading = narrow.plainly(facts, signal, evidence.house)
    unit = SIGNALS[signal].unit
    own = parse_unit(unit)
    kinds = ("number", own.kind if own else "")
    if reading is None or not facts.count or (facts.unit and facts.unit.kind not in kinds):
        return None
    low, high = (reading.scale * x + reading.offset for x in (facts.low, facts.high))
    if facts.distinct == 1:
        if not fills.stands_empty(low, signal):
            return None
        says = f"it stands at {quantity(low, unit)} throughout, an end of its scale"
        return Misfit(signal, facts.channel, says)
    if facts.count < _FEWEST:
        return None
    says = f"it runs from {quantity(low, '')} to {quantity(high, unit)}, as {signal} does not"
    factor = next(
        (f for f in _FACTORS if values.fits(facts, signal, _times(reading, f)) >= _USUAL), None
    )
    if _usual(reading.scale * facts.mid + reading.offset, signal):
        factor = None  # half of the run is what it should be: it is the rest that is not
    if signal == "engine speed" and factor == 10.0 and not _too_slow(high, evidence):
        return None  # the starter alone
    if factor is None:
        return Misfit(signal, facts.channel, says)
    size = max(factor, 1.0 / factor)
    says += f"; {_FACTORS[factor]} that would: a factor of {size:g} is suspected"
    return Misfit(signal, facts.channel, says, f"{factor:g} {reading.unit}".rstrip())


def _times(reading: Reading, factor: float) -> Reading:
    return Reading(reading.unit, reading.scale * factor, reading.offset, 0.0)
