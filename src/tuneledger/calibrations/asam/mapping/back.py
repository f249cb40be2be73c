"""The way back: what a sheet holds as parameters, by their places or by a mapping's names."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tuneledger.calibrations.asam.a2l.conversions import clean
from tuneledger.calibrations.asam.mapping.named import NAMED, is_named
from tuneledger.calibrations.asam.mapping.units import POINTS, WANTED
from tuneledger.calibrations.asam.parameter import AXES, Kind, Parameter, ParameterAxis
from tuneledger.calibrations.cells import UNKNOWN_CELL
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.paths import as_raw
from tuneledger.calibrations.tree import join
from tuneledger.signals import SIGNALS

_SWITCHES = ("enabled", "complete")
_TEXTS = ("revision", "title", "notes", "fuel")
_KINDS: dict[int, Kind] = {1: "curve", 2: "map", 3: "cuboid"}
_NUMBERS = (*WANTED, *POINTS, "cylinders")


class _LostError(Exception):
    """Why a place has no parameter, as a phrase."""


@dataclass(slots=True)
class Going:
    """Parameters by name, and what is left behind: place and reason."""

    parameters: dict[str, Parameter] = field(default_factory=dict)
    lost: list[str] = field(default_factory=list)


def parameters_of(calibration: Calibration, mapping: dict[str, Any] | None = None) -> Going:
    """What a sheet holds, as parameters.

    mapping: only what it names goes, under those names and with its `times` taken back; without
             it, every number, switch and text that a parameter can hold goes under its place
    """
    going = Going()
    sheet = as_raw(calibration)
    places = _places(sheet, "", sheet) if mapping is None else _mapped(mapping, sheet, "")
    for place, key, value, holder, named in places:
        try:
            one = _parameter(place, key, value, holder, named)
            there = going.parameters.setdefault(one.name, one)
            if there is not one and not _same(there, one):
                raise _LostError(f"{one.name} stands in two places with other numbers")
        except _LostError as problem:
            going.lost.append(f"{place}: {problem}")
    return going


Place = tuple[str, str, Any, dict[str, Any], dict[str, Any]]
"""(place, its key, what the sheet has there, the part that holds it, what the mapping names)"""


def _places(part: Any, place: str, holder: dict[str, Any]) -> Iterator[Place]:
    """Every place of a sheet that may become a parameter; tables with their axes at `values`."""
    table = isinstance(part, dict) and "values" in part
    items = part.items() if isinstance(part, dict) else ()
    for key, value in items:
        inside = join(place, key)
        if key == "axes" and table:
            continue
        if key == "correction" and isinstance(value, list):
            for item in value:
                yield from _places(item, join(inside, item["id"]), item)
        elif isinstance(value, dict):
            yield from _places(value, inside, part)
        elif (
            isinstance(value, list) and key != "values" and any(isinstance(v, dict) for v in value)
        ):
            for index, item in enumerate(value):
                yield from _places(item, join(inside, index), part)
        elif isinstance(value, list) and key not in ("values", "at"):
            for index, item in enumerate(value):
                if isinstance(item, float):
                    yield join(inside, index), key, item, part, {}
        elif key in (*_SWITCHES, *_TEXTS, *_NUMBERS) and not (
            key == "is" and isinstance(value, str)
        ):
            yield inside, key, value, part, {}


def _mapped(mapping: Any, sheet: Any, place: str) -> Iterator[Place]:
    """Every place that a mapping names, with what the sheet has there."""
    if isinstance(mapping, list) and isinstance(sheet, list):
        by_id = {one.get("id"): one for one in sheet if isinstance(one, dict) and "id" in one}
        for index, item in enumerate(mapping):
            own = by_id.get(item.get("id")) if isinstance(item, dict) and by_id else None
            there = own if by_id else sheet[index] if index < len(sheet) else None
            step = item["id"] if own is not None else index
            if isinstance(item, dict) and not is_named(item):
                yield from _mapped(item, there, join(place, step))
            elif is_named(item):
                yield join(place, step), place.rpartition(".")[2], there, {}, item
    if not isinstance(mapping, dict):
        return
    holder = sheet if isinstance(sheet, dict) else {}
    for key, value in mapping.items():
        inside = join(place, key)
        if is_named(value):
            axes = mapping.get("axes") if key == "values" else None
            yield inside, key, holder.get(key), holder, {**value, "axes": axes}
        elif isinstance(value, dict | list):
            yield from _mapped(value, holder.get(key), inside)


def _parameter(
    place: str, key: str, value: Any, holder: dict[str, Any], named: dict[str, Any]
) -> Parameter:
    name = str(named.get(NAMED, place))
    if value is None:
        raise _LostError("the sheet has nothing there")
    if key in _TEXTS:
        return Parameter(name, "text", np.empty(0), text=str(value))
    if key in _SWITCHES:
        return _switch(name, bool(value), named.get("on"))
    times = named.get("times", 1)
    if not isinstance(times, int | float) or not times:
        raise _LostError("it is multiplied by nothing that can be taken back")
    cells = _cells(value)
    numbers = cells if times == 1 else clean(cells / float(times))
    unit = _unit(key, holder, place)
    if key == "at":
        return Parameter(name, "axis", numbers, unit)
    if key != "values":
        if numbers.ndim:
            raise _LostError("it is no single number")
        return Parameter(name, "value", numbers, unit)
    axes = holder.get("axes") or []
    order = _order(axes, named.get("axes"))
    made = tuple(_axis(axes[index]) for index in order)
    says = str(holder.get("title", ""))
    return Parameter(name, _KINDS[len(axes)], np.transpose(numbers, order), unit, says, made)


def _order(axes: list[dict[str, Any]], told: Any) -> tuple[int, ...]:
    """For x, y and z of the parameter, which axis of the sheet it is; where nobody says, the last
    one is x, so that rows run along y and tables along z."""
    said = [axis.get("axis") for axis in told if isinstance(axis, dict)] if told else []
    names = AXES[: len(axes)]
    if sorted(map(str, said)) == list(names):
        return tuple(said.index(name) for name in names)
    return tuple(range(len(axes)))[::-1]


def _axis(axis: dict[str, Any]) -> ParameterAxis:
    return ParameterAxis(np.asarray(axis["at"], dtype=np.float64), _unit("at", axis, ""))


def _switch(name: str, on: bool, word: Any) -> Parameter:
    if word is None:
        return Parameter(name, "value", np.asarray(float(on)))
    if not on:
        raise _LostError("which word or number means off is not known")
    if isinstance(word, str):
        return Parameter(name, "value", np.asarray(1.0), words=(word,))
    return Parameter(name, "value", np.asarray(float(word)))


def _cells(value: Any) -> Any:
    if UNKNOWN_CELL in str(value):
        raise _LostError(f'it has cells that are not known ("{UNKNOWN_CELL}")')
    numbers = np.asarray(value)
    if numbers.dtype.kind not in "if":
        raise _LostError("it is no number")
    return numbers.astype(np.float64)


def _unit(key: str, holder: dict[str, Any], place: str) -> str:
    if key in POINTS:
        if "since" in holder:
            return "s"
        signal = SIGNALS.get(str(holder.get("signal")))
        unit = str(
            holder.get("unit") or ("" if "over" in holder else signal.unit if signal else "")
        )
        return f"{unit}/s" if unit and "rate" in holder else unit
    if ".weight." in place:
        return ""
    return WANTED.get(key, "")


def _same(one: Parameter, other: Parameter) -> bool:
    alike = one.values.shape == other.values.shape and bool((one.values == other.values).all())
    return alike and (one.text, one.words) == (other.text, other.words)
