"""Edits of a sheet by path: the change file, read strictly, and carried out on a calibration.

```toml
format = "tuneledger-changes/1"

[[change]]
place = "spark.correction.rain.amount"
to = -2.0
```
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from tuneledger.calibrations import paths
from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.nearest import did_you_mean
from tuneledger.calibrations.paths import Steps
from tuneledger.calibrations.plausible import INSTEAD, beyond
from tuneledger.calibrations.text import parse, read_text
from tuneledger.calibrations.tree import shown
from tuneledger.calibrations.write import to_toml
from tuneledger.errors import ChangeError, Fault, SheetError
from tuneledger.record import record

FORMAT = "tuneledger-changes/1"
_KIND = "tuneledger-changes"
_KEYS = ("place", "to")


@record
class Edit:
    """One line of a change file: put `to` at `place`. `path`: where it stands in its file."""

    place: str
    to: Any
    path: str = ""


@record
class Change:
    """What stands at a place before and after, as a sheet writes it; None where nothing stands."""

    place: str
    before: Any
    after: Any


def read_changes(file: Path | str) -> tuple[Edit, ...]:
    """The edits of a change file, in its order.

    Raises ChangeError with every fault of the file at once, each with its path in it.
    """
    name = str(file)
    try:
        raw = _parsed(file, name)
    except SheetError as error:
        raise ChangeError(error.faults) from None
    faults = [replace(fault, file=name) for fault in _faults(raw)]
    if faults:
        raise ChangeError(faults)
    return tuple(
        Edit(item["place"], item["to"], f"change[{i}]") for i, item in enumerate(raw["change"])
    )


def _parsed(file: Path | str, name: str) -> dict[str, Any]:
    text = read_text(file)
    if not text.strip():
        raise ChangeError(
            Fault("the file is empty", file=name, expected=f'TOML with format = "{FORMAT}"')
        )
    return parse(text, name)


def _faults(raw: dict[str, Any]) -> Iterator[Fault]:
    """Everything that is wrong with the file itself."""
    given = raw.get("format")
    if given != FORMAT:
        found = "missing" if given is None else shown(given)
        yield Fault(found, place="format", expected=f'"{FORMAT}"')
        if isinstance(given, str) and not given.startswith(_KIND):
            return  # another kind of file: what its keys mean is not ours to judge
    for key in raw:
        if key not in ("format", "change"):
            yield Fault("unknown key", place=key, do=did_you_mean(key, ("format", "change")))
    items = raw.get("change")
    if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
        found = "missing" if items is None else shown(items)
        yield Fault(found, place="change", expected="[[change]] tables, each with place and to")
        return
    if not items:
        yield Fault("no change in it", place="change", expected="at least one [[change]]")
    for i, item in enumerate(items):
        for key in _KEYS:
            if key not in item:
                yield Fault("missing", place=f"change[{i}].{key}")
        for key in item:
            if key not in _KEYS:
                yield Fault("unknown key", place=f"change[{i}].{key}", do=did_you_mean(key, _KEYS))
        place = item.get("place")
        if "place" in item and not (isinstance(place, str) and place.strip()):
            yield Fault(
                shown(place),
                place=f"change[{i}].place",
                expected="a place in the sheet, such as spark.correction.rain.amount",
            )


def carry_out(
    calibration: Calibration, edits: Sequence[Edit], *, file: str, sheet: str
) -> tuple[Calibration, tuple[Change, ...]]:
    """The calibration with the edits in it, and what each changes.

    file, sheet: the change file's and the sheet's names, for faults
    Raises ChangeError with every place that is none, named twice, or holds another that is edited;
    where all places are good, with every fault that the edited sheet would have; and with every
    number that no engine is given.
    """
    placed: dict[str, tuple[Edit, Steps]] = {}
    changes, faults = [], []
    for edit in edits:
        try:
            where = paths.steps(calibration, edit.place)
            before = paths.as_raw(paths.get(calibration, edit.place))
        except SheetError as error:
            faults += [replace(f, file=file, place=_within(edit, f.place)) for f in error.faults]
            continue
        clash = next((e for e, steps in placed.values() if _overlap(steps, where)), None)
        if clash is not None or not where:
            found = f"overlaps with {clash.path}" if clash else "no place in a sheet"
            faults.append(Fault(found, file=file, place=_within(edit, edit.place)))
            continue
        placed[edit.path or edit.place] = edit, where
        changes.append(Change(edit.place, before, paths.as_raw(edit.to)))
    if faults:
        raise ChangeError(faults)
    try:
        edited = paths.put_all(calibration, [(e.place, e.to) for e in edits])
    except SheetError as error:
        raise ChangeError(
            [replace(fault, file=f"{sheet} as {file} changes it") for fault in error.faults]
        ) from None
    refuse_impossible(calibration, edited, file, list(placed.values()))
    return edited, tuple(changes)


def refuse_impossible(
    old: Calibration, new: Calibration, file: str, placed: Sequence[tuple[Edit, Steps]] = ()
) -> None:
    """ChangeError with every number in `new` that no engine is given and that `old` has not.

    file: what brings them; placed: the edits that do, with where each stands in the sheet
    """
    had = {(one.path, one.degrees) for one in beyond(old)}
    faults = []
    for one in beyond(new):
        if (one.path, one.degrees) in had:
            continue
        where = paths.steps(new, one.path)
        by = next((edit for edit, steps in placed if _overlap(steps, where)), None)
        place = _within(by, one.path) if by else one.path
        faults.append(Fault(one.says, file=file, place=place, expected=one.expected, do=INSTEAD))
    if faults:
        raise ChangeError(faults)


def edited_text(text: str, edited: Calibration, edits: Sequence[tuple[Steps, Any]]) -> str:
    """A sheet's text with edits in it, comments and all else as they stand.

    edits: steps to a place and what is to stand there. Where an edit cannot be put into the text
    without disturbing the rest, the whole sheet is written anew.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
        for where, value in edits:
            part: Any = document
            for step in where[:-1]:
                part = part[step]
            part[where[-1]] = paths.as_raw(value)
        new = tomlkit.dumps(document)
        if check(parse(new)) == edited:
            return new
    except (TOMLKitError, SheetError, KeyError, IndexError, TypeError, ValueError):
        pass  # written anew, below
    return to_toml(edited)


def _within(edit: Edit, place: str | None) -> str:
    return ": ".join(part for part in (edit.path, place or edit.place) if part)


def _overlap(one: Steps, other: Steps) -> bool:
    shorter = min(len(one), len(other))
    return one[:shorter] == other[:shorter]
