"""A mapping carried out: the sheet that it makes of a store."""

from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import replace
from typing import Any

from tuneledger.calibrations.asam.images import LACKING
from tuneledger.calibrations.asam.mapping.named import Looking, Use, WrongError, is_named
from tuneledger.calibrations.asam.mapping.tables import fill_table
from tuneledger.calibrations.asam.mapping.units import (
    POINTS,
    WANTED,
    in_unit,
    names_points,
    reading_unit,
)
from tuneledger.calibrations.asam.parameter import Store
from tuneledger.calibrations.check import examine, in_order
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.spelling import spelling
from tuneledger.calibrations.tree import Spot, closed, join, quoted
from tuneledger.calibrations.write import to_toml
from tuneledger.errors import Fault, SheetError
from tuneledger.record import record
from tuneledger.wording import visible

_SWITCHES = ("enabled", "complete")
_TEXTS = ("revision", "title", "notes", "fuel", "expected", "logged_as", "channel", "id")
_DEEPEST = 64
_MORE = {"axes": ("axis",)}  # keys that a mapping knows besides those of a sheet


@record
class Chosen:
    """The sheet, which parameter stands where in it, and sentences on what was assumed.

    of_files: sentences on what is odd about the files as a whole
    """

    calibration: Calibration
    used: tuple[Use, ...]
    notes: tuple[str, ...]
    of_files: tuple[str, ...] = ()

    def text(self, made_of: str) -> str:
        """The sheet's text, headed by where its numbers are from and what is odd there."""
        width = max((len(use.place) for use in self.used), default=0)
        assumed = [f"Assumed: {note}" for note in self.notes]
        noted = [f"Noted: {note}" for note in self.of_files]
        lines = [f"Made of {made_of}.", *noted, *(_line(use, width) for use in self.used), *assumed]
        head = "".join(f"# {visible(line)}\n" for line in lines)
        return f"{head}\n{to_toml(self.calibration)}"


def choose(mapping: dict[str, Any], store: Store, file: str) -> Chosen:
    """The sheet that a mapping makes of a store; `file` is what faults call the mapping.

    Raises SheetError with everything that is wrong: in the mapping, in what it names, and in the
    sheet that would come of it.
    """
    looking = Looking(store)
    spelt = spelling(deepcopy(mapping), _MORE, is_named)
    filled = _filled(spelt.value, "", looking, 0)
    calibration, wrong = examine(filled)
    found = [*spelt.faults, *looking.faults, *(one for one in wrong if _apart(one, looking))]
    if found or calibration is None:
        told = in_order(Spot(closed(filled)), found)
        places = [replace(fault, file=file, place=spelt.written(fault.place)) for fault in told]
        raise SheetError([*places, *_elsewhere(store, places)])
    return Chosen(calibration, tuple(looking.used), tuple(looking.notes), tuple(store.notes))


def _elsewhere(store: Store, faults: list[Fault]) -> Iterator[Fault]:
    """Where the image's bytes are, where some were looked for in vain."""
    if store.holds and any(LACKING in fault.found for fault in faults):
        do = "If it lies elsewhere as a whole, say by how much (--shift)."
        yield Fault(store.holds, do=do)


def _apart(fault: Fault, looking: Looking) -> bool:
    """Whether a fault of the sheet is not merely that a place could not be filled."""
    place = fault.place or ""
    return not any(
        place == one or place.startswith((f"{one}.", f"{one}[")) for one in looking.unfilled
    )


def _line(use: Use, width: int) -> str:
    return f"{use.place:<{width}}  {use.name}, {use.where}"


def _filled(part: Any, place: str, looking: Looking, depth: int) -> Any:
    """A part of the mapping with everything in it that is named put in its place."""
    if depth > _DEEPEST or not isinstance(part, dict):
        return part
    unit = "1" if place.endswith(".weight") else "deg"
    table = is_named(part.get("values"))
    if table and not _tried(lambda: fill_table(part, looking, place, unit)):
        looking.unfilled += _of_table(part, place)
    done = ("values", "axes") if is_named(part.get("values")) else ()
    if names_points(part) and not _tried(lambda: _fill_reading(part, looking, place)):
        looking.unfilled += [join(place, key) for key in POINTS]
        done = (*done, *POINTS)
    for key, value in list(part.items()):
        inside = join(place, key)
        if key in done:
            continue
        if is_named(value):
            try:
                part[key] = _named(key, value, inside, unit, looking)
            except WrongError:
                looking.unfilled.append(inside)
        elif isinstance(value, dict):
            _filled(value, inside, looking, depth + 1)
        elif isinstance(value, list):
            _fill_list(value, key, inside, unit, looking, depth)
    return part


def _of_table(table: dict[str, Any], place: str) -> Iterator[str]:
    """The places of a table that wait for numbers of the store."""
    yield join(place, "values")
    axes = table.get("axes")
    for index in range(len(axes) if isinstance(axes, list) else 0):
        for key in ("at", "axis", "unit"):
            yield join(join(join(place, "axes"), index), key)


def _fill_list(
    items: list[Any], key: str, place: str, unit: str, looking: Looking, depth: int
) -> None:
    for index, item in enumerate(items):
        inside = join(place, index)
        if is_named(item):
            try:
                items[index] = _named(key, item, inside, unit, looking)
            except WrongError:
                looking.unfilled.append(inside)
        else:
            _filled(item, inside, looking, depth + 1)


def _fill_reading(reading: dict[str, Any], looking: Looking, place: str) -> None:
    """The thresholds and points that an axis or condition names, all in its one unit."""
    for key in POINTS:
        value = reading.get(key)
        inside = join(place, key)
        if is_named(value):
            reading[key] = _in_reading(value, reading, inside, looking, many=key == "at")
        elif isinstance(value, list):
            reading[key] = [
                _in_reading(item, reading, join(inside, n), looking) if is_named(item) else item
                for n, item in enumerate(value)
            ]


def _in_reading(
    named: Any, reading: dict[str, Any], place: str, looking: Looking, *, many: bool = False
) -> Any:
    found, numbers = looking.numbers(named, place)
    if numbers.ndim != (1 if many else 0):
        raise looking.wrong(
            f"{quoted(found.name)} is a {found.kind}", place, "points" if many else "one number"
        )
    unit = reading_unit(reading, found.unit, looking, place)
    return in_unit(numbers, found.unit, unit, looking, place).tolist()


def _named(key: str, named: Any, place: str, unit: str, looking: Looking) -> Any:
    """What stands under a key that is no reading's: a switch, a text or a number."""
    if key in _SWITCHES:
        return looking.switch(named, place)
    if key in _TEXTS:
        return looking.text(named, place)
    found, numbers = looking.numbers(named, place)
    if numbers.ndim:
        raise looking.wrong(f"{quoted(found.name)} is a {found.kind}", place, "one number")
    wanted = WANTED.get(key)
    wanted = unit if wanted == "deg" else wanted
    number = float(in_unit(numbers, found.unit, wanted, looking, place))
    return int(number) if key == "cylinders" and number.is_integer() else number


def _tried(fill: Callable[[], None]) -> bool:
    """Whether it could be done; after a fault it goes on, so that all of them are told at once."""
    try:
        fill()
    except WrongError:
        return False
    return True
