"""What loading an edited sheet changes in the car: what was asked for, and what comes besides."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from tuneledger.calibrations import paths
from tuneledger.calibrations.model import Calibration, Correction
from tuneledger.change.differences import differences, place_of
from tuneledger.change.edits import Change
from tuneledger.change.places import place_words
from tuneledger.change.points import in_the_other
from tuneledger.errors import SheetError
from tuneledger.record import record

_SAME_DEG = 1e-9


@record
class Line:
    """One edit, or one difference, with the place in words."""

    place: str
    what: str
    before: Any
    after: Any


@record(eq=False)
class Lines:
    """Every difference between what is in the car and the edited sheet.

    edits, besides: what was asked for, as it is entered cell by cell, and all else; before, there,
    is what the car has at the point where the cell of the edited sheet stands
    touched:        the corrections that the edits change, as the edited sheet has them
    """

    edits: tuple[Line, ...]
    besides: tuple[Line, ...]
    touched: tuple[Correction, ...]


def lines_of(
    in_car: Calibration, old: Calibration, edited: Calibration, changes: Sequence[Change]
) -> Lines:
    """old: the sheet in which the changes were made; it need not be the one in the car."""
    asked = {_by_id(change.place, old, edited) for change in changes}
    lines = [
        Line(c.place, place_words(c.place, edited, in_car), c.before, c.after)
        for c in differences(in_car, edited)
    ]
    return Lines(
        edits=tuple(one for one in lines if _is_asked(one.place, asked)),
        besides=tuple(
            told
            for one in lines
            if not _is_asked(one.place, asked)
            for told in _at_its_point(one, edited, in_car)
        ),
        touched=tuple(_touched(old, edited, asked)),
    )


def _at_its_point(line: Line, edited: Calibration, in_car: Calibration) -> Iterator[Line]:
    """A cell of a table whose points have moved, against what the car has there; none where the
    car has the same there. Any other line as it is."""
    there = in_the_other(line.place, edited, in_car)
    if there is None:
        yield line
    elif isinstance(there, str) or isinstance(line.after, str):
        if there != line.after:
            yield replace(line, what=place_words(line.place, edited), before=there)
    elif abs(there - line.after) > _SAME_DEG:
        before = round(there, 4)
        yield replace(line, what=place_words(line.place, edited), before=before)


def _by_id(place: str, old: Calibration, edited: Calibration) -> str:
    """The place with its correction by id, as differences have it; the old sheet may lack it."""
    try:
        sheet, where = old, paths.steps(old, place)
    except SheetError:
        sheet, where = edited, paths.steps(edited, place)
    if where[:2] == ("spark", "correction") and len(where) > 2 and isinstance(where[2], int):
        if where[2] >= len(sheet.spark.correction):
            return paths.joined(where)
        rest = paths.joined(where[3:])
        start = place_of(sheet.spark.correction[where[2]].id)
        return f"{start}{'' if not rest or rest.startswith('[') else '.'}{rest}"
    return paths.joined(where)


def _is_asked(place: str, asked: set[str]) -> bool:
    """Whether a difference lies at, or within, a place that was to be edited."""
    return any(place == one or place.startswith((f"{one}.", f"{one}[")) for one in asked)


def _touched(old: Calibration, edited: Calibration, asked: set[str]) -> list[Correction]:
    """The corrections that the edits change, as the edited sheet has them, else the old one."""
    out: list[Correction] = []
    for sheet in (edited, old):
        for correction in sheet.spark.correction:
            start = place_of(correction.id)
            hit = any(one == start or one.startswith((f"{start}.", f"{start}[")) for one in asked)
            if hit and all(c.id != correction.id for c in out):
                out.append(correction)
    return out
