"""A rehearsal for a terminal: what would move first, then the changes, where, how sure."""

from collections.abc import Iterator

import numpy as np

from tuneledger.change.paper import LABELS, changed_rows, page_width
from tuneledger.change.places import place_words, value_at
from tuneledger.change.rehearsal import Rehearsal, Shift
from tuneledger.ledger.regimes import REGIMES
from tuneledger.statement.facts import running
from tuneledger.statement.paper import (
    Line,
    fitted,
    labelled,
    line,
    paragraph,
    printed,
    stacked,
)
from tuneledger.statement.ruled import heading, numbers
from tuneledger.wording import count, degrees, quantity, seconds, sentence

CAUTION = (
    "A rehearsal says what the sheet would ask for, not what the engine bears. Too much advance "
    "can detonate an engine in seconds; too much retard overheats exhaust, valves and turbo. "
    "Change in small steps, with knock and exhaust temperature watched, on a dynamometer or "
    "closed course, by someone qualified."
)
_CHANGES, _CELLS, _NOTES = 8, 5, 7


def as_text(rehearsal: Rehearsal, *, width: int = 80, colour: bool = False) -> str:
    """The rehearsal as text of at most `width` cells; plain where `colour` is off."""
    width = page_width(width)
    ink = "stop" if "Care: " in rehearsal.headline else "strong"
    notes = [sentence(note) for note in rehearsal.notes[:_NOTES]]
    if len(rehearsal.notes) > _NOTES:
        notes.append(f"and {len(rehearsal.notes) - _NOTES} more, see --json")
    sections = [
        paragraph(rehearsal.headline, width, ink),
        list(_facts(rehearsal, width)),
        list(_changes(rehearsal, width)),
        list(_shifts(rehearsal, width)),
        list(_regimes(rehearsal, width)),
        labelled("Cells", [_cells(rehearsal)], width, LABELS) if rehearsal.cells else [],
        labelled("Needed", [f"{n.what}: {n.why}" for n in rehearsal.needs], width, LABELS)
        + labelled("How sure", notes, width, LABELS)
        + labelled("Take care", [CAUTION], width, LABELS),
    ]
    return printed(stacked(sections), colour)


def _facts(rehearsal: Rehearsal, width: int) -> Iterator[Line]:
    log, sheet = rehearsal.statement.logs[0].log, rehearsal.statement.sheets[0]
    told = f"{log.file}, {seconds(log.duration_s)}, {count(log.samples, 'sample')}"
    yield from labelled("Log", [told], width, LABELS)
    revision = sheet.calibration.revision
    yield from labelled("Sheet", [f"{sheet.file}, revision {revision}"], width, LABELS)
    yield from labelled("Running", [running(rehearsal.statement)], width, LABELS)


def _changes(rehearsal: Rehearsal, width: int) -> Iterator[Line]:
    """What is edited, in words."""
    if not rehearsal.changes:
        return
    sheets = rehearsal.edited, rehearsal.statement.sheets[0].calibration
    yield from heading("Change", (), width)
    rows = [
        (place_words(c.place, *sheets), value_at(c.place, c.before), value_at(c.place, c.after))
        for c in rehearsal.changes
    ]
    yield from changed_rows(rows, width, _CHANGES)


_SHIFTS = (("moves", 9), ("at most", 10), ("for", 12))


def _shifts(rehearsal: Rehearsal, width: int) -> Iterator[Line]:
    """The postings that come out otherwise."""
    if not rehearsal.shifts:
        return
    room = width - sum(size for _, size in _SHIFTS)
    yield from heading("What moves", _SHIFTS, width)
    for shift in rehearsal.shifts[:8]:
        yield line(fitted(_named(shift), room), *_numbers(shift))


def _named(shift: Shift) -> str:
    return shift.called if shift.edited else f"{shift.called}, moved along by the edit"


def _numbers(shift: Shift) -> Line:
    moves = degrees(shift.mean_deg), "less" if shift.mean_deg < 0 else "more"
    cells = [moves, (degrees(shift.peak_deg), ""), (seconds(shift.seconds), "")]
    return numbers(cells, _SHIFTS)


_REGIMES = (("time", 11), ("before", 10), ("after", 10), ("moves", 9))


def _regimes(rehearsal: Rehearsal, width: int) -> Iterator[Line]:
    """Where it moves: means over the samples that move."""
    if rehearsal.ledger is None or not rehearsal.moving.any():
        return
    room = width - sum(size for _, size in _REGIMES)
    yield from heading("Where", _REGIMES, width)
    regimes = np.array(rehearsal.ledger.regime)
    rows = []
    for name in REGIMES:
        here = rehearsal.moving & (regimes == name)
        if here.any():
            rows.append((rehearsal.seconds(here), name, here))
    for lasts, name, here in sorted(rows, key=lambda row: -row[0]):
        before = float(rehearsal.delivered[here].mean())
        moves = float(rehearsal.moves[here].mean())
        cells = (
            seconds(lasts),
            degrees(before, signed=False),
            degrees(before + moves, signed=False),
            degrees(moves),
        )
        texts = [(cell, "") for cell in cells]
        yield line(fitted(name, room), *numbers(texts, _REGIMES))


def _cells(rehearsal: Rehearsal) -> str:
    """The cells of the map in which most moves: `150 kPa, 5000 rpm: −2.0° for 3.1 s`."""
    axes = rehearsal.statement.sheets[0].calibration.spark.map.axes
    texts = []
    for cell in rehearsal.cells[:_CELLS]:
        at = ", ".join(quantity(x, axis.unit) for x, axis in zip(cell.at, axes, strict=True))
        texts.append(f"{at}: {degrees(cell.mean_deg)} for {seconds(cell.seconds)}")
    if len(rehearsal.cells) > _CELLS:
        texts.append(f"and {count(len(rehearsal.cells) - _CELLS, 'more cell')}, see --json")
    return "; ".join(texts)
