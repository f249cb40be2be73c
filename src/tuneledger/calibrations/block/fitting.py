"""How an axis of a block fits a reading of the sheet: by units, words, points and span."""

from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

from tuneledger.calibrations.block.model import Edge
from tuneledger.calibrations.block.words import known_unit, units_in
from tuneledger.calibrations.tree import plain
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion
from tuneledger.wording import count

RawAxis: TypeAlias = dict[str, Any]
"""A reading as a sheet's reader gives it, perhaps with its points (`at`)."""

BY_UNIT = {"rpm": "engine speed", "krpm": "engine speed"}


def guess(edge: Edge) -> RawAxis | None:
    """What an axis reads, where its words name a signal or its unit leaves only one."""
    words = edge.words.casefold()
    named = [signal for signal in SIGNALS if signal in words]
    units = [edge.unit] if edge.unit else list(units_in(edge.words))
    of_units = [BY_UNIT[unit] for unit in units if unit in BY_UNIT]
    found = (named if len(named) == 1 else []) or of_units
    return {"signal": found[0]} if found else None


def fitted(edge: Edge, axis: RawAxis, corner: Sequence[str]) -> RawAxis | None:
    """The axis with the block's points and unit; None where a unit says that it is another."""
    unit = edge.unit
    usual = axis.get("unit") or _own_unit(axis)
    if unit is None:
        beside = [*units_in(edge.words), *corner]
        unit = next((found for found in beside if usual and conversion(found, usual)), None)
    elif usual and conversion(unit, usual) is None:
        return None
    plain_axis = {key: value for key, value in axis.items() if key not in ("at", "unit")}
    new = unit is not None and (not usual or known_unit(usual) != known_unit(unit))
    understood = None if "at" in axis else usual  # an axis that is there keeps how it is written
    chosen = unit if new else axis.get("unit") or understood
    return plain_axis | ({"unit": chosen} if chosen else {}) | {"at": list(edge.points)}


def score(edge: Edge, fits: RawAxis, axis: RawAxis) -> float:
    """How well an edge fits a reading: by its unit, its words, its points and their span."""
    factor, offset = _factor(fits, axis)
    points = [point * factor + offset for point in edge.points]
    sure = 3.0 * bool(edge.unit) + 3.0 * _names(edge, axis) + 4.0 * _same_points(edge, axis)
    sure += 0.5 * (len(axis.get("at") or ()) == len(points))
    return sure + 4.0 * _shared(points, _span(axis)) - 4.0 * (1.0 - possible(edge, fits))


def possible(edge: Edge, fits: RawAxis) -> float:
    """The share of an edge's points that lie where its signal can be; 1 for a channel."""
    signal = SIGNALS.get(str(fits.get("signal")))
    if signal is None or "minus" in fits or "over" in fits or "rate" in fits:
        return 1.0
    factor, offset = conversion(fits.get("unit") or signal.unit, signal.unit) or (1.0, 0.0)
    inside = [signal.lowest <= point * factor + offset <= signal.highest for point in edge.points]
    return sum(inside) / len(inside)


def shows(edge: Edge, fits: RawAxis, axis: RawAxis) -> bool:
    """Whether the block itself says that an edge reads this: by unit, words or the same points."""
    in_words = fits.get("unit") in units_in(edge.words)
    return bool(edge.unit) or in_words or _names(edge, axis) or _same_points(edge, axis)


def _names(edge: Edge, axis: RawAxis) -> bool:
    return name(axis).casefold() in edge.words.casefold()


def _same_points(edge: Edge, axis: RawAxis) -> bool:
    return tuple(axis.get("at") or ()) == edge.points


def _factor(fits: RawAxis, axis: RawAxis) -> tuple[float, float]:
    before = axis.get("unit") or _own_unit(axis)
    after = fits.get("unit")
    return (conversion(after, before) if before and after else None) or (1.0, 0.0)


def _span(axis: RawAxis) -> tuple[float, float] | None:
    """From where to where the reading runs: by the points that it has, else as its signal can."""
    points = axis.get("at")
    if points:
        return float(min(points)), float(max(points))
    signal = SIGNALS.get(str(axis.get("signal")))
    if signal is None or axis.get("unit", signal.unit) != signal.unit:
        return None
    return signal.lowest, signal.highest


def _shared(points: Sequence[float], span: tuple[float, float] | None) -> float:
    """How much two spans overlap, 0 to 1, of all that they cover."""
    if span is None:
        return 0.0
    low, high = min(points), max(points)
    whole = max(high, span[1]) - min(low, span[0])
    common = min(high, span[1]) - max(low, span[0])
    return max(common, 0.0) / whole if whole > 0 else 1.0


def _own_unit(axis: Mapping[str, Any]) -> str | None:
    signal = SIGNALS.get(str(axis.get("signal")))
    return signal.unit or None if signal else None


def name(axis: Mapping[str, Any]) -> str:
    """What an axis of a sheet reads, in one word or two."""
    return str(axis.get("signal") or axis.get("channel") or "seconds since a condition")


def told(axis: Mapping[str, Any]) -> str:
    """`engine speed from 900 to 7000 rpm (5 points)`."""
    minus = f" minus {axis['minus']}" if "minus" in axis else ""
    over = f" over {axis['over']}" if "over" in axis else ""
    unit = f" {axis['unit']}" if axis.get("unit") else ""
    points = axis["at"]
    span = f"{plain(points[0])} to {plain(points[-1])}{unit}"
    return f"{name(axis)}{minus}{over} from {span} ({count(len(points), 'point')})"
