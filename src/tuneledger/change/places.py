"""Places of a sheet in words: `Hot charge air at 48 °C`, `the main map at 200 kPa, 5000 rpm`."""

from collections.abc import Iterator, Sequence

from tuneledger.calibrations import paths
from tuneledger.calibrations.model import Axis, Calibration, Correction, Table
from tuneledger.calibrations.paths import Steps
from tuneledger.change.paper import value_words
from tuneledger.change.points import stands_elsewhere
from tuneledger.errors import SheetError
from tuneledger.wording import degrees, number, quantity, unit_words

_IN_DEGREES = ("amount", "values", "lowest", "highest", "range")


def place_words(place: str, *sheets: Calibration) -> str:
    """What stands at a place, for somebody who has no sheet at hand.

    sheets: the first that has the place tells what it is called; a cell that stands at other points
    in another of them is called by its number, since no point would be true of both
    """
    counted = stands_elsewhere(place, sheets)
    for sheet in sheets:
        try:
            return _words(paths.steps(sheet, place), sheet, counted)
        except (SheetError, IndexError):
            continue
    return place


def value_at(place: str, value: object) -> str:
    """A value as it is written on paper; degrees where the place holds degrees."""
    held_in_degrees = any(f"{key}" in place.rpartition(".")[2] for key in _IN_DEGREES)
    if held_in_degrees and isinstance(value, int | float) and not isinstance(value, bool):
        scheduled = place.startswith("spark.map")  # an amount of its own, not one added
        return (
            degrees(float(value), 2, signed=not scheduled).replace("0°", "°") if value else "0.0°"
        )
    return value_words(value)


def _words(where: Steps, sheet: Calibration, counted: bool) -> str:
    if where[:2] == ("spark", "map"):
        return _table_words("the main map", where[2:], sheet.spark.map, counted)
    if where[:2] == ("spark", "correction") and len(where) > 2 and isinstance(where[2], int):
        correction = sheet.spark.correction[where[2]]
        return _correction_words(correction, where[3:], counted)
    if where[:2] == ("spark", "limits"):
        return " ".join(["the limits:", *map(str, where[2:])])
    return paths.joined(where)


def _correction_words(correction: Correction, rest: Steps, counted: bool) -> str:
    name = f"{correction.called} ({correction.id})" if correction.title else correction.id
    if rest[:1] == ("enabled",):
        return f"{name}: switch"
    if rest[:1] == ("weight",) and correction.weight is not None:
        return _table_words(f"{name}, weight", rest[1:], correction.weight, counted)
    return _table_words(name, rest, correction, counted)


def _table_words(name: str, rest: Steps, table: Table, counted: bool) -> str:
    indexes = [step for step in rest[1:] if isinstance(step, int)]
    if not counted and rest[:1] == ("values",) and len(indexes) == len(table.axes):
        at = (_at(axis, i) for axis, i in zip(table.axes, indexes, strict=True))
        return f"{name} at {', '.join(at)}"
    return f"{name}: {paths.joined(rest)}" if rest else name


def _at(axis: Axis, index: int) -> str:
    return quantity(axis.at[index], axis.unit)


def axis_words(axis: Axis) -> str:
    """`intake air temperature from 20 to 80 °C`: what a table reads, and over which span."""
    name = axis.signal or axis.channel or "time since its condition"
    if axis.minus:
        name += f" minus {axis.minus}"
    if axis.over:
        name += f" over {axis.over}"
    return f"{name} from {number(axis.at[0])} to {number(axis.at[-1])} {unit_words(axis.unit)}"


def names_read(parts: Sequence[Table]) -> Iterator[str]:
    """Signals and channels that these tables and their conditions read, each once."""
    from tuneledger.calibrations.model import readings

    found = (
        name
        for part in parts
        for reading in readings(part)
        for name in (reading.signal, reading.channel, reading.minus, reading.over)
        if name
    )
    yield from dict.fromkeys(found)
