"""A table whose values a mapping names: its axes, turned and ordered as the sheet has them."""

from typing import Any

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.asam.mapping.named import Looking, is_named
from tuneledger.calibrations.asam.mapping.units import in_unit, reading_unit
from tuneledger.calibrations.asam.parameter import AXES, Parameter
from tuneledger.calibrations.tree import join, quoted
from tuneledger.wording import count, listing, sentence

_OWN = "axis"
RawTable = dict[str, Any]


def fill_table(table: RawTable, looking: Looking, place: str, unit: str) -> None:
    """Put numbers where a table names a parameter for its values, points too where it has none.

    unit: of the values. Raises WrongError, with what is wrong noted.
    """
    found, numbers = looking.numbers(table["values"], join(place, "values"))
    values = in_unit(numbers, found.unit, unit, looking, join(place, "values"))
    axes = table.get("axes")
    axes = axes if isinstance(axes, list) else []
    if values.ndim != len(axes) or not values.ndim or not all(isinstance(a, dict) for a in axes):
        have = f"a {found.kind} over {count(values.ndim, 'axis', 'axes')}"
        do = "Write amount instead of values." if not values.ndim else None
        expected = f"as many axes here; there are {len(axes)}"
        raise looking.wrong(f"{quoted(found.name)} is {have}", place, expected, do)
    order = _order(axes, found, looking, place)
    values = np.transpose(values, order)
    for index, (axis, own) in enumerate(zip(axes, order, strict=True)):
        points = _points(axis, found, own, looking, join(join(place, "axes"), index))
        if len(points) != values.shape[index]:
            size = f"{len(points)} points for {values.shape[index]} values of {quoted(found.name)}"
            raise looking.wrong(size, join(join(place, "axes"), index))
        points, values = _rising(points, values, index, (found.name, AXES[own]), looking)
        axis["at"] = points.tolist()
    table["values"] = values.tolist()


def _order(axes: list[RawTable], found: Parameter, looking: Looking, place: str) -> tuple[int, ...]:
    """For each axis of the sheet, which axis of the parameter it is."""
    said = [axis.pop(_OWN, "x" if len(axes) == 1 else None) for axis in axes]
    known = AXES[: len(axes)]
    if sorted(map(str, said)) != sorted(known):
        raise looking.wrong(
            f"which axis of {quoted(found.name)} is which is not said",
            join(place, "axes"),
            f"{listing([f'axis = {quoted(one)}' for one in known])}, each in one of the axes",
            _hint(found),
        )
    return tuple(known.index(one) for one in said)


def _hint(found: Parameter) -> str | None:
    parts = [
        f"{name} reads {axis.reads or 'something'} in {axis.unit or 'no unit'}"
        for name, axis in zip(AXES, found.axes, strict=False)
    ]
    return sentence(f"its {listing(parts)}") if parts else None


def _points(axis: RawTable, found: Parameter, own: int, looking: Looking, place: str) -> FloatArray:
    """An axis's points: those that stand in the mapping, or are named there, or are its own."""
    at = axis.get("at")
    if isinstance(at, list) and not any(map(is_named, at)):
        numbers = [float(one) if isinstance(one, int | float) else np.nan for one in at]
        return np.asarray(numbers, dtype=np.float64)
    if is_named(at):
        other, numbers_of = looking.numbers(at or {}, join(place, "at"))
        if numbers_of.ndim != 1:
            raise looking.wrong(f"{quoted(other.name)} is a {other.kind}", place, "an axis")
        points, has = numbers_of, other.unit
    elif at is None and own < len(found.axes) and found.axes[own].points is not None:
        points, has = np.asarray(found.axes[own].points), found.axes[own].unit
    else:
        raise looking.wrong(
            f"{quoted(found.name)} has no points of its own along {AXES[own]}",
            join(place, "at"),
            'numbers, or { characteristic = "…" }',
        )
    return in_unit(points, has, reading_unit(axis, has, looking, place), looking, place)


def _rising(
    points: FloatArray, values: FloatArray, index: int, of: tuple[str, str], looking: Looking
) -> tuple[FloatArray, FloatArray]:
    """Points that rise, with their values; a point that stands twice with the same values once."""
    if len(points) > 1 and points[0] > points[-1]:
        points, values = points[::-1], np.flip(values, index)
    again = np.flatnonzero(np.diff(points) == 0) + 1
    if not again.size:
        return points, values
    before, after = np.take(values, again - 1, index), np.take(values, again, index)
    if not np.array_equal(before, after):
        return points, values  # the sheet's own check says that they do not rise
    looking.note(
        f"{of[0]}: {count(again.size, 'point')} of {of[1]} that stood twice with the same values "
        "left out"
    )
    return np.delete(points, again), np.delete(values, again, index)
