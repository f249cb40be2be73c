"""The witness of values: does a channel look like a signal, and in which unit must it be read?

Every plausible reading of every channel is tried: as labelled, in another unit of the same kind
(a wrong label), with the sign turned round, above the outside air instead of absolute. A reading
against the label has to pay for it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from math import log

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.record import record
from tuneledger.roles.facts import Facts, column
from tuneledger.roles.looks import LOOKS, UNITS_IN_USE
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion, parse_unit
from tuneledger.wording import numbers_of, unit_words

AIR_KPA = 101.325  # standard atmosphere, NIST SP 811
_WRONG_LABEL = 0.03
_WRONG_SIGN = 0.04
_SUSPECT = 0.4
_GAUGE = 0.12
_UNUSUAL = -1.6
_IMPOSSIBLE = -5.0
_WORST = -11.0
_ADVANCE = ("scheduled advance", "delivered advance")


@record
class Reading:
    """A way to read numbers as a signal: value in its own unit = scale · number + offset.

    unit: what the numbers are in; cost: log-odds that this way has to pay
    relabelled: "unit" or "sign" where it contradicts the label; says: that, in plain words
    from_air: counted from the outside air, which `offset` holds
    """

    unit: str
    scale: float
    offset: float
    cost: float
    relabelled: str | None = None
    says: str | None = None
    from_air: bool = False


@record(eq=False)
class Judged:
    """weights: log-odds per channel and signal; readings: the best one of each."""

    weights: FloatArray
    readings: dict[tuple[int, str], Reading]


@record
class House:
    """What the clear channels of a log say of how the others must be read.

    air_kpa: the outside air, by which gauge pressure is made absolute
    in_use:  kind → unit → share, of channels without a label, where not as in `UNITS_IN_USE`
    suspect: label → the unit that another channel with that label truly is in
    told:    channels whose label somebody put right: not read against it
    """

    air_kpa: float = AIR_KPA
    in_use: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    suspect: Mapping[str, str] = field(default_factory=dict)
    told: frozenset[str] = frozenset()


USUAL = House()


def judge(facts: Sequence[Facts], signals: Sequence[str], house: House = USUAL) -> Judged:
    """Every channel against every signal's look."""
    weights = np.full((len(facts), len(signals)), _WORST)
    tries = list(_tries(facts, signals, house))
    if not tries:
        return Judged(weights, {})
    found = np.concatenate([[t.reading.cost] * len(t.channels) for t in tries])
    found += _looks(facts, tries)
    channel = np.concatenate([t.channels for t in tries])
    which = np.repeat(np.arange(len(tries)), [len(t.channels) for t in tries])
    signal = np.array([signals.index(t.signal) for t in tries])[which]
    readings: dict[tuple[int, str], Reading] = {}
    for k in np.argsort(found, kind="stable"):
        # the best comes last and stays
        i, j = int(channel[k]), int(signal[k])
        weights[i, j] = max(_WORST, found[k])
        readings[i, signals[j]] = tries[which[k]].reading
    return Judged(weights, readings)


@record
class _Try:
    """Channels with the same label, tried as one signal in one reading."""

    signal: str
    reading: Reading
    channels: list[int]
    labelled: bool


def _tries(facts: Sequence[Facts], signals: Sequence[str], house: House) -> Iterator[_Try]:
    groups: dict[tuple[str | None, bool], list[int]] = {}
    for i, f in enumerate(facts):
        if f.count:
            key = (f.unit.symbol if f.unit else None, f.channel.name in house.told)
            groups.setdefault(key, []).append(i)
    for signal in signals:
        for (symbol, told), members in groups.items():
            labelled = symbol not in (None, "", "state")
            for reading in ways_to_read(signal, symbol, house):
                if not (told and reading.relabelled == "unit"):
                    yield _Try(signal, reading, members, labelled)


def fits(facts: Facts, signal: str, reading: Reading) -> float:
    """Log-odds of one channel's look, read in one way."""
    labelled = facts.unit is not None and facts.unit.kind not in ("number", "state")
    return float(_looks([facts], [_Try(signal, reading, [0], labelled)])[0])


def ways_to_read(signal: str, symbol: str | None, house: House = USUAL) -> list[Reading]:
    """How a channel with that label might be read as that signal; empty where in no way."""
    own = SIGNALS[signal].unit
    kind = parse_unit(own).kind  # type: ignore[union-attr]
    if "lambda" in signal:
        kind = "mixture"
    label = parse_unit(symbol) if symbol is not None else None
    in_use = house.in_use.get(kind, UNITS_IN_USE[kind])
    out = []
    if label is not None and label.kind not in ("number", "state") and kind != "number":
        plain = conversion(label.symbol, own)
        if plain is None:
            return _foreign(signal, label.symbol)
        out.append(Reading(label.symbol, *plain, cost=log(0.97)))
        for unit, share in in_use.items():
            scale, offset = conversion(unit, own) or (1.0, 0.0)
            if (scale, offset) != plain:
                named = unit_words(label.symbol)
                says = f"labelled {named}, but the numbers are those of {numbers_of(unit)}"
                wrong = _WRONG_LABEL * share / (1.0 - min(0.98, in_use.get(label.symbol, 0.0)))
                cost = log(_SUSPECT if house.suspect.get(label.symbol) == unit else wrong)
                out.append(Reading(unit, scale, offset, cost, "unit", says))
    elif label is not None and label.symbol in ("lambda", "AFR"):
        out = [Reading(label.symbol, label.factor, 0.0, log(0.97))]
        out.append(Reading("", 1.0, 0.0, log(_WRONG_LABEL), "unit", "labelled AFR, but around 1"))
    else:
        for unit, share in in_use.items():
            scale, offset = conversion(unit, own) or (1.0, 0.0)
            other = f"without a label, and the numbers are those of {numbers_of(unit)}"
            note = None if unit == own else other
            out.append(Reading(unit, scale, offset, log(share), None, note))
    return out + _turned(signal, out, house.air_kpa)


def _turned(signal: str, plain: list[Reading], air_kpa: float) -> list[Reading]:
    """The same readings with the sign turned round, or counted from the outside air."""
    out = []
    for r in plain:
        if signal in _ADVANCE:
            says = "its numbers are negative where an engine needs advance: the sign is turned"
            out.append(
                Reading(r.unit, -r.scale, -r.offset, r.cost + log(_WRONG_SIGN), "sign", says)
            )
        if signal == "manifold absolute pressure":
            stated = parse_unit(r.unit)
            gauge = stated.gauge if stated else None
            cost = 0.0 if gauge else log(_GAUGE if gauge is None else _WRONG_LABEL)
            says = "counted from the outside air, and made absolute"
            against = "unit" if gauge is False else r.relabelled
            out.append(
                Reading(r.unit, r.scale, r.offset + air_kpa, r.cost + cost, against, says, True)
            )
    return out


def _foreign(signal: str, label: str) -> list[Reading]:
    """Labels of another kind that a sensor's raw signal has."""
    if signal in ("throttle position", "accelerator position"):
        if label in ("V", "mV"):
            scale = 25.0 if label == "V" else 0.025
            says = "in volts of its sensor, taken as 0.5 to 4.5 V from shut to open"
            return [Reading(label, scale, -12.5, log(0.5), None, says)]
        if label == "deg":
            says = "in degrees of the plate, taken as 90 from shut to open"
            return [Reading(label, 1.0 / 0.9, 0.0, log(0.5), None, says)]
    if signal == "knock level":
        return [Reading(label, 1.0, 0.0, log(0.3))]
    return []


def _looks(facts: Sequence[Facts], tries: Sequence[_Try]) -> FloatArray:
    """Log-odds of the look, for every channel of every try, all at once."""
    rows = np.concatenate([t.channels for t in tries])
    which = np.repeat(np.arange(len(tries)), [len(t.channels) for t in tries])
    looks = [LOOKS[t.signal] for t in tries]

    def of(figures: list[float] | list[bool]) -> FloatArray:
        return np.array(figures, dtype=np.float64)[which]

    def has(name: str) -> BoolArray:
        return np.array([getattr(look, name) for look in looks])[which]

    scale, offset = of([t.reading.scale for t in tries]), of([t.reading.offset for t in tries])
    low, mid, high = (scale * column(facts, name)[rows] + offset for name in ("low", "mid", "high"))
    low, high = np.minimum(low, high), np.maximum(low, high)
    distinct, count = column(facts, "distinct")[rows], column(facts, "count")[rows]
    still = distinct <= 1

    out = of(
        [look.labelled if t.labelled else look.bare for t, look in zip(tries, looks, strict=True)]
    )
    for values, name in ((low, "low"), (mid, "mid"), (high, "high")):
        spans = np.array([getattr(look, name) for look in looks])[which]
        out += _within(values, spans)
    out += np.where(still, of([look.constant for look in looks]), 0.0)
    spreads = np.array([(-1.0, 0.0, *(look.spread or (1e9, 2e9))) for look in looks])[which]
    out += _within(high - low, spreads)
    out += np.where(has("whole") & (column(facts, "whole")[rows] == 0), _IMPOSSIBLE, 0.0)
    out += np.where(has("coarse") & (distinct > np.maximum(10, 0.08 * count)), -3.0, 0.0)
    out += np.where(has("coarse") & has("whole") & (distinct <= 2) & (high <= 1), -4.5, 0.0)
    # rounding noise on a channel that hardly moves is no restlessness
    restless = (column(facts, "restless")[rows] > 40) & (distinct > 12)
    out += np.where(has("smooth") & restless, -1.5, 0.0)
    out += np.where(has("lively") & (distinct < 8) & ~still, -2.0, 0.0)
    return out


def _within(values: FloatArray, spans: FloatArray) -> FloatArray:
    """0 within what is usual, falling to `_IMPOSSIBLE` and below outside what can be.

    spans: one row per value, as in `looks.Span`.
    """
    impossible_low, low, high, impossible_high = spans.T
    below = (low - values) / np.maximum(low - impossible_low, 1e-9)
    above = (values - high) / np.maximum(impossible_high - high, 1e-9)
    share = np.maximum(below, above)
    graded = np.where(share > 0, _UNUSUAL * np.clip(share, 0.25, 1.0), 0.0)
    return np.where(share > 1, _IMPOSSIBLE - 0.5 * np.minimum(share - 1, 4.0), graded)
