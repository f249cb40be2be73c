"""Put a table into a sheet's text and leave all else in it, comments too, as it stands."""

import tomllib
from collections.abc import Mapping, Sequence
from copy import deepcopy
from typing import TYPE_CHECKING, Any

from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.paths import Steps, read_path
from tuneledger.calibrations.text import parse
from tuneledger.calibrations.tree import closed
from tuneledger.calibrations.write import inline
from tuneledger.errors import Fault, SheetError

if TYPE_CHECKING:
    from tomlkit.items import Array

RawTable = dict[str, Any]


def find_table(raw: Mapping[str, Any], place: str) -> tuple[Steps, RawTable]:
    """The steps to a table of a raw sheet, and what it holds now.

    Raises SheetError where there is no such table: only the map, a correction and its weight are.
    """
    spark = raw.get("spark", {})
    corrections = spark.get("correction", []) if isinstance(spark, dict) else []
    ids = [str(item.get("id", "")) for item in corrections if isinstance(item, dict)]
    where = read_path(place.strip().removesuffix(".values"), ids)
    if not _is_table(where):
        raise SheetError(
            Fault(
                "no table can stand here",
                place=place,
                expected="spark.map, spark.correction.ID or spark.correction.ID.weight",
            )
        )
    table: Any = raw
    for step in where:
        table = _below(table, step)
    if table is None and where[-1] not in ("map", "weight"):
        raise SheetError(Fault("there is no such correction", place=place))
    return where, dict(table) if isinstance(table, dict) else {}


def _below(part: Any, step: str | int) -> Any:
    if isinstance(part, dict):
        return part.get(step)
    inside = isinstance(part, list) and isinstance(step, int) and step < len(part)
    return part[step] if inside else None


def _is_table(where: Steps) -> bool:
    if where == ("spark", "map"):
        return True
    correction = where[:2] == ("spark", "correction") and len(where) > 2
    return correction and isinstance(where[2], int) and where[3:] in ((), ("weight",))


def calibration_with(
    raw: Mapping[str, Any],
    where: Steps,
    axes: Sequence[Mapping[str, Any]],
    values: Sequence[Any],
    file: str,
) -> Calibration:
    """What a raw sheet would hold with another table at a place; see `with_table`."""
    return check(_changed(raw, where, axes, values), file)


def with_table(
    text: str, where: Steps, axes: Sequence[Mapping[str, Any]], values: Sequence[Any], file: str
) -> str:
    """The sheet's text with another table at a place, all else as it stands.

    where: steps to the table (see `find_table`); axes: raw readings with their points, in the
    order of the table; values: nested as the axes say

    Raises SheetError with every fault that the sheet would have.
    """
    wanted = _changed(parse(text, file), where, axes, values)
    check(wanted, file)
    new = _edited(text, where, axes, values)
    if closed(tomllib.loads(new)) != closed(wanted):
        raise SheetError(
            Fault(
                "the table cannot be put here without disturbing the rest of the file",
                file=file,
                do="Write the table under a heading of its own, such as [spark.map].",
            )
        )
    return new


def _changed(
    raw: Mapping[str, Any], where: Steps, axes: Sequence[Mapping[str, Any]], values: Sequence[Any]
) -> dict[str, Any]:
    wanted: dict[str, Any] = deepcopy(dict(raw))
    table: Any = wanted
    for step in where:
        table = table.setdefault(step, {}) if isinstance(table, dict) else table[step]
    table.pop("amount", None)
    table["axes"] = [dict(axis) for axis in axes]
    table["values"] = _lists(values)
    return wanted


def _lists(values: Any) -> Any:
    return [_lists(item) for item in values] if isinstance(values, list | tuple) else values


def _edited(
    text: str, where: Steps, axes: Sequence[Mapping[str, Any]], values: Sequence[Any]
) -> str:
    import tomlkit

    document = tomlkit.parse(text)
    table: Any = document
    for step in where:
        if isinstance(step, str) and step not in table:
            table[step] = tomlkit.table()
        table = table[step]
    table.pop("amount", None)
    _put_axes(table, axes)
    table["values"] = _values(_lists(values))
    return tomlkit.dumps(document)


def _put_axes(table: Any, axes: Sequence[Mapping[str, Any]]) -> None:
    """The axes that are there keep their lines and comments where they read the same."""
    there = table.get("axes", [])
    same = len(there) == len(axes) and all(
        _reading(old) == _reading(new) for old, new in zip(there, axes, strict=True)
    )
    if not same:
        table["axes"] = _lines([_item(dict(axis)) for axis in axes])
        return
    for old, new in zip(there, axes, strict=True):
        for key in ("unit", "at"):
            if key in new and old.get(key) != new[key]:
                old[key] = _item(new[key]) if key == "at" else new[key]


def _reading(axis: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in axis.items() if key not in ("unit", "at")}


def _values(values: list[Any]) -> Any:
    if values and isinstance(values[0], list):
        return _lines([_item(row, degrees=True) for row in values])
    return _item(values, degrees=True)


def _lines(items: Sequence[Any]) -> "Array":
    """A list with each item on a line of its own."""
    import tomlkit

    array = tomlkit.array()
    for item in items:
        array.add_line(item, indent="  ")
    array.add_line(indent="")
    return array


def _item(value: Any, *, degrees: bool = False) -> Any:
    """A list or an axis in one line, written as `to_toml` writes it."""
    import tomlkit

    return tomlkit.value(inline(value, degrees))
