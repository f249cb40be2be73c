"""Places in a sheet, addressed the same way by faults, audits, edits and orders.

A path is keys joined by dots, with an index in brackets for what stands in a list:
`spark.correction[2].axes[0].at[3]`. A correction may be named instead of counted:
`spark.correction.charge-air.amount`, or `spark.correction."hot.air".amount` where the id itself
holds dots. `put` gives a new calibration that has passed the whole check.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import Calibration, Part
from tuneledger.calibrations.nearest import did_you_mean
from tuneledger.calibrations.tree import join, quoted
from tuneledger.errors import Fault, SheetError

Steps: TypeAlias = tuple[str | int, ...]

CORRECTIONS = "spark.correction"
_STEP = re.compile(r'\.(?:([A-Za-z_][\w-]*)|"([^"]*)")|\[(\d{1,9})\]')


def normal(calibration: Calibration, path: str) -> str:
    """The path with every correction counted instead of named.

    Raises SheetError where the path cannot be read or names a correction that is not there.
    """
    return joined(steps(calibration, path))


def get(calibration: Calibration, path: str) -> Any:
    """What stands at a place: a part, a tuple, a number, text, … ; None where the key is absent.

    Raises SheetError where no sheet could have such a place, or this one's list is shorter.
    """
    value: Any = calibration
    walked: Steps = ()
    for step in steps(calibration, path):
        if value is None:
            return None
        value = _inside(value, step, joined(walked))
        walked = (*walked, step)
    return value


def put(calibration: Calibration, path: str, value: Any) -> Calibration:
    """The calibration with another value at a place, checked as a whole.

    value: a part, number, text, list or mapping as a sheet would have it; None takes the key away
           or the item out of its list. An index just past the end of a list adds to it; a key
           that is absent is made, with the tables of keys that lead to it.

    Raises SheetError with every fault that the sheet would then have.
    """
    return put_all(calibration, ((path, value),))


def put_all(calibration: Calibration, edits: Iterable[tuple[str, Any]]) -> Calibration:
    """Several values at once; only the outcome has to pass the check, not what lies between.

    Paths address the calibration as it was before the first edit.
    """
    raw = as_raw(calibration)
    planned = [(steps(calibration, path), as_raw(value)) for path, value in edits]
    taken_out = [where for where, value in planned if value is None]
    for where, value in planned:
        if value is not None:
            _set(raw, where, value)
    for where in sorted(taken_out, key=_last_index, reverse=True):
        _take_out(raw, where)
    return check(raw)


def places(calibration: Calibration) -> Iterator[tuple[str, Any]]:
    """Every number, text, switch and date of a calibration with its path, in the model's order.

    What is absent is left out; a default that the sheet did not write is there.
    """
    return _leaves(calibration, "")


def as_raw(value: Any) -> Any:
    """A part as the nested dicts and lists that a sheet's reader gives; other values as they are.

    Numbers and arrays of NumPy become plain ones.
    """
    if isinstance(value, Part):
        value = value.given
    if isinstance(value, Mapping):
        return {key: as_raw(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [as_raw(item) for item in value]
    return value.tolist() if hasattr(value, "tolist") else value


def steps(calibration: Calibration, path: str) -> Steps:
    """The keys and indexes of a path, corrections counted."""
    return read_path(path, [correction.id for correction in calibration.spark.correction])


def read_path(path: str, ids: Sequence[str]) -> Steps:
    """The keys and indexes of a path in a sheet whose corrections have these ids."""
    named, rest = _correction_by_id(path.strip(), ids)
    where = f".{rest}" if rest or not named else ""
    found: list[str | int] = []
    at = 0
    while at < len(where):
        match = _STEP.match(where, at)
        if match is None:
            raise SheetError(_no_place(path, "cannot be read as a place", _EXAMPLE))
        at = match.end()
        found.append(int(match[3]) if match[3] is not None else match[1] or match[2])
    return (*named, *found)


_EXAMPLE = "a path such as spark.correction[2].amount"


def _correction_by_id(path: str, ids: Sequence[str]) -> tuple[Steps, str]:
    """The steps to a correction that the path names by its id, and the rest of the path."""
    start = f"{CORRECTIONS}."
    if not path.startswith(start):
        return (), path
    rest = path.removeprefix(start)
    fitting = [
        (len(spelt), index, spelt)
        for index, name in enumerate(ids)
        for spelt in (name, f'"{name}"')
        if rest == spelt or rest.startswith((f"{spelt}.", f"{spelt}["))
    ]
    if not fitting:
        do = did_you_mean(re.split(r"[.\[]", rest)[0], ids, "There are") if ids else None
        raise SheetError(_no_place(path, "no such correction", do=do))
    _, index, spelt = max(fitting)
    return ("spark", "correction", index), rest.removeprefix(spelt).removeprefix(".")


def _inside(value: Any, step: str | int, walked: str) -> Any:
    if isinstance(value, tuple) and isinstance(step, int):
        if step < len(value):
            return value[step]
        raise SheetError(_no_place(join(walked, step), f"the list holds {len(value)}"))
    if isinstance(value, Part) and isinstance(step, str):
        names = {field.alias or name: name for name, field in type(value).model_fields.items()}
        if step in names:
            return getattr(value, names[step])
        raise SheetError(_no_place(join(walked, step), "no such key", do=did_you_mean(step, names)))
    kind = "is not a list" if isinstance(step, int) else "has no keys"
    raise SheetError(_no_place(walked, kind))


def _set(raw: Any, where: Steps, value: Any) -> None:
    """Put a value into the raw tree, making what leads to it."""
    for index, (step, following) in enumerate(zip(where, (*where[1:], None), strict=True)):
        last = following is None
        fresh: Any = value if last else [] if isinstance(following, int) else {}
        if isinstance(raw, list) and isinstance(step, int) and step <= len(raw):
            if step == len(raw):
                raw.append(fresh)
            elif last:
                raw[step] = value
        elif isinstance(raw, dict) and isinstance(step, str):
            raw[step] = value if last else raw.get(step, fresh)
        else:
            raise SheetError(_no_place(joined(where[: index + 1]), _why_not(raw, step)))
        raw = raw[step]


def _take_out(raw: Any, where: Steps) -> None:
    for step in where[:-1]:
        raw = _below(raw, step)
    last = where[-1]
    if _below(raw, last) is not None:
        del raw[last]


def _below(raw: Any, step: str | int) -> Any:
    if isinstance(raw, dict) and isinstance(step, str):
        return raw.get(step)
    inside = isinstance(raw, list) and isinstance(step, int) and step < len(raw)
    return raw[step] if inside else None


def _last_index(where: Steps) -> int:
    return where[-1] if isinstance(where[-1], int) else -1


def _why_not(raw: Any, step: str | int) -> str:
    if isinstance(raw, list) and isinstance(step, int):
        return f"the list holds {len(raw)}"
    return "what is above it is not a list" if isinstance(step, int) else "it can have no keys"


def _leaves(value: Any, path: str) -> Iterator[tuple[str, Any]]:
    if isinstance(value, Part):
        for name, field in type(value).model_fields.items():
            yield from _leaves(getattr(value, name), join(path, field.alias or name))
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _leaves(item, join(path, index))
    elif value is not None:
        yield path, value


def joined(walked: Steps) -> str:
    """The path of keys and indexes."""
    path = ""
    for step in walked:
        path = join(path, step)
    return path


def _no_place(path: str, found: str, expected: str | None = None, do: str | None = None) -> Fault:
    return Fault(found, place=path or quoted(path), expected=expected, do=do)
