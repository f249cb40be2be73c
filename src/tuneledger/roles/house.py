"""The house style of a log: what its clear channels say of how the unclear ones must be read.

A logger that shows the coolant in Fahrenheit shows the air in it too, and gauge pressure counts
from the outside air that the same log carries.
"""

from collections.abc import Sequence
from dataclasses import replace

from tuneledger.roles.evidence import Evidence, look_again
from tuneledger.roles.facts import Facts
from tuneledger.roles.values import AIR_KPA, House

_CLEAR = 0.6
# How likely an unlabelled or wrongly labelled channel follows the clear one.
_FOLLOWS = 0.9
_TEMPERATURES = (
    "engine coolant temperature",
    "oil temperature",
    "intake air temperature",
    "fuel temperature",
)


# Where a log labels its channels, one without a label is more likely to be a fraction.
_FRACTION = {"%": 0.4, "1": 0.6}


def first_impression(facts: Sequence[Facts], told: frozenset[str]) -> House:
    """The house style before any channel is known."""
    labelled = sum(f.labelled for f in facts) > 0.4 * len(facts)
    return House(in_use={"ratio": _FRACTION} if labelled else {}, told=told)


def settle_in(evidence: Evidence) -> bool:
    """Read the channels in the log's house style; whether that meant judging them anew."""
    house = _style(evidence)
    if house.suspect or house.in_use != evidence.house.in_use:
        look_again(evidence, house)
        return True
    shift = house.air_kpa - evidence.house.air_kpa
    for key, reading in evidence.readings.items():
        if reading.from_air:
            evidence.readings[key] = replace(reading, offset=reading.offset + shift)
    evidence.house = house
    return False


def _style(evidence: Evidence) -> House:
    """What the channels that are clear already say of the others."""
    first = evidence.house
    evidence.take_stock()
    fahrenheit: list[bool] = []
    suspect: dict[str, str] = {}
    air = AIR_KPA
    for signal in (*_TEMPERATURES, "barometric pressure"):
        clear = evidence.candidates(signal, least=_CLEAR, most=1)
        reading = evidence.readings.get((clear[0], signal)) if clear else None
        if reading is None:
            continue
        i = clear[0]
        facts = evidence.facts[i]
        if signal == "barometric pressure":
            air = reading.scale * facts.mid + reading.offset
            continue
        # a warm engine tells Celsius from Fahrenheit by itself; air and fuel do so by a label only
        if signal in _TEMPERATURES[:2] or facts.labelled:
            fahrenheit.append(reading.unit == "degF")
        if reading.relabelled == "unit" and facts.unit is not None:
            suspect[facts.unit.symbol] = reading.unit
    in_use = dict(first.in_use)
    if any(fahrenheit):
        likely = sum(fahrenheit) / len(fahrenheit)
        share = 0.05 + _FOLLOWS * likely
        in_use["temperature"] = {"degC": 1.0 - share, "degF": share}
        in_use["speed"] = {"km/h": 0.98 - 0.7 * likely, "mph": 0.02 + 0.7 * likely}
    return House(air, in_use, suspect, first.told)
