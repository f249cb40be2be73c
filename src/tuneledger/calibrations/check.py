"""The whole check of a sheet: every fault at once, or the calibration."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from tuneledger.bounded import at_most, how_to_raise
from tuneledger.calibrations.model import FORMAT, Calibration
from tuneledger.calibrations.rules.sheet import sheet
from tuneledger.calibrations.tree import Spot, closed, depth, join, quoted
from tuneledger.errors import Fault, SheetError

DEEPEST = 64  # no table or condition that a person wrote comes near it
MOST_CORRECTIONS = 200  # no sheet that a person keeps comes near it
NAME, _, NUMBER = FORMAT.partition("/")


def check(raw: Mapping[str, Any], file: str | None = None) -> Calibration:
    """The calibration that a parsed sheet holds.

    raw:  tables as mappings and lists as the TOML reader gives them; it is left as it was
    file: named in the faults

    Raises SheetError with one fault for everything that is wrong, in the order of the sheet.
    """
    calibration, found = examine(raw)
    if calibration is None:
        raise SheetError([replace(fault, file=file) for fault in found])
    return calibration


def examine(raw: Mapping[str, Any]) -> tuple[Calibration | None, list[Fault]]:
    """The calibration, or None and every fault in the order of the sheet."""
    if depth(raw) > at_most(DEEPEST):
        most = f"at most {at_most(DEEPEST)} levels"
        return None, [Fault("nested too deeply", expected=most, do=how_to_raise())]
    root = Spot(closed(raw))
    corrections = root["spark"]["correction"].value
    if isinstance(corrections, tuple) and len(corrections) > at_most(MOST_CORRECTIONS):
        many, most = f"{len(corrections)} corrections", f"at most {at_most(MOST_CORRECTIONS)}"
        return None, [root["spark"]["correction"].fault(many, most, how_to_raise())]
    other = _other_format(root["format"])
    if other is not None:
        return None, [other]  # what another format's keys mean is not ours to judge
    try:
        calibration = Calibration.model_validate(root.value)
    except ValidationError as error:
        return None, _refused(root, error)
    found = in_order(root, list(sheet(root)))
    return (None if found else calibration), found


def _refused(root: Spot, error: ValidationError) -> list[Fault]:
    """Every fault of a sheet that the model refuses, misspelt keys read as they were meant."""
    from tuneledger.calibrations.spelling import spelling
    from tuneledger.calibrations.translate import faults as model_faults

    spelt = spelling(root.value)
    meant = Spot(spelt.value)
    if spelt.slips:
        refused = list(_faults(meant))
    else:
        refused = list(model_faults(error, root)) or [Fault("not a calibration sheet")]
    found = [*spelt.faults, *_once(refused, list(sheet(meant)))]
    return [replace(fault, place=spelt.written(fault.place)) for fault in in_order(meant, found)]


def _faults(root: Spot) -> Iterator[Fault]:
    from tuneledger.calibrations.translate import faults as model_faults

    try:
        Calibration.model_validate(root.value)
    except ValidationError as error:
        yield from model_faults(error, root)


def _other_format(spot: Spot) -> Fault | None:
    """A format that is not this one, where the sheet says one at all."""
    text = spot.text
    if text is None or text == FORMAT:
        return None
    name, _, number = text.partition("/")
    if name.strip() != NAME:
        do = "" if text.startswith("tuneledger-") else f'A sheet begins with format = "{FORMAT}".'
        return spot.fault(f"{quoted(text)} is not a calibration sheet", f'"{FORMAT}"', do or None)
    newer = number.isdecimal() and int(number[:9]) > int(NUMBER)
    if newer:
        do = f'This program reads "{FORMAT}": get a newer one, or the sheet in that format.'
        return spot.fault(f"{quoted(text)} is newer than this program", do=do)
    return spot.fault(quoted(text), f'"{FORMAT}"')


def _once(refused: list[Fault], ruled: Iterable[Fault]) -> list[Fault]:
    """The model's faults and the rules', without a rule's where the model refused that place."""
    places = {fault.place for fault in refused}
    return refused + [fault for fault in ruled if fault.place not in places]


def in_order(root: Spot, found: list[Fault]) -> list[Fault]:
    """Faults in the order in which their places stand in the sheet; what is missing comes last
    in the part that misses it."""
    if len(found) < 2:
        return found
    order: dict[str, tuple[int, ...]] = {}
    _number(root.value, "", (), order)

    def rank(fault: Fault) -> tuple[int, ...]:
        path = fault.place or ""
        if path in order:
            return order[path]
        parent = path.rpartition(".")[0]
        return (*order.get(parent, ()), len(order))

    return sorted(found, key=rank)


def _number(value: Any, path: str, at: tuple[int, ...], order: dict[str, tuple[int, ...]]) -> None:
    order[path] = at
    steps: Iterable[tuple[str | int, Any]] = ()
    if isinstance(value, dict):
        steps = value.items()
    elif isinstance(value, tuple):
        steps = enumerate(value)
    for index, (step, item) in enumerate(steps):
        _number(item, join(path, step), (*at, index), order)
