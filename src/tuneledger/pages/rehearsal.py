"""A rehearsal as a page: before and after over time, what moves, cell by cell, how sure."""

import numpy as np

from tuneledger.change.places import place_words, value_at
from tuneledger.change.rehearsal import Rehearsal
from tuneledger.change.rehearsal_text import CAUTION
from tuneledger.pages.figure import Frame, span
from tuneledger.pages.names import name_of, text_of
from tuneledger.pages.still import listed, still
from tuneledger.pages.tag import Markup, table, tag
from tuneledger.wording import count, degrees, quantity, seconds, sentence

_MOST_CHANGES, _MOST_CELLS = 24, 20


def rehearsal_page(rehearsal: Rehearsal) -> str:
    """The complete HTML."""
    log, sheet = rehearsal.statement.logs[0].log, rehearsal.statement.sheets[0]
    title = f"{name_of(log.file)}: rehearsal"
    car = name_of(sheet.calibration.title)
    head = tag(
        "header",
        tag("p", "Rehearsal", cls="what"),
        tag(
            "p",
            *([tag("b", car), " · "] if car else []),
            f"{name_of(log.file)}, {seconds(log.duration_s)}, under a changed revision "
            f"{name_of(sheet.calibration.revision)}",
            cls="sources",
        ),
        tag("h1", text_of(rehearsal.headline)),
    )
    notes = [sentence(text_of(note)) for note in rehearsal.notes]
    needs = [sentence(text_of(f"{need.what}: {need.why}")) for need in rehearsal.needs]
    return still(
        title,
        head,
        _figures(rehearsal),
        _changes(rehearsal),
        _shifts(rehearsal),
        _cells(rehearsal),
        listed("Needed", needs),
        listed("How sure", notes),
        listed("Cautions", [CAUTION]),
    )


def _figures(rehearsal: Rehearsal) -> Markup:
    """Delivered before and after over time, and under it what lies between."""
    ledger = rehearsal.ledger
    if ledger is None or ledger.times.size < 2:
        return Markup("")
    times = ledger.times
    ends = float(times[0]), float(times[-1])
    before = np.where(rehearsal.counted, rehearsal.delivered, np.nan)
    after = np.where(rehearsal.counted, ledger.delivered, np.nan)
    moves = np.where(rehearsal.counted, rehearsal.moves, np.nan)
    unit = "" if rehearsal.moving.any() else "s"
    upper = Frame(ends, span([before, after]), unit, "degrees", height=240)
    lower = Frame(ends, span([moves, np.zeros(1)]), "s", "moves, degrees", height=170)
    says = "Delivered advance before (blue) and rehearsed (orange)"
    both = upper.path(times, before, "before"), upper.path(times, after, "after")
    if not rehearsal.moving.any():
        told = f"{says}: nothing moves, one lies on the other."
        return tag("figure", upper.drawn(told, *both), tag("figcaption", told, cls="soft"))
    told = f"{says}; below, what the change moves."
    return tag(
        "figure",
        upper.drawn(told, *both),
        lower.drawn("What the change moves", lower.path(times, moves, "after")),
        tag("figcaption", told, cls="soft"),
    )


def _changes(rehearsal: Rehearsal) -> Markup:
    if not rehearsal.changes:
        return Markup("")
    sheets = rehearsal.edited, rehearsal.statement.sheets[0].calibration
    rows = [
        [
            text_of(place_words(change.place, *sheets)),
            text_of(value_at(change.place, change.before)),
            text_of(value_at(change.place, change.after)),
        ]
        for change in rehearsal.changes[:_MOST_CHANGES]
    ]
    left = len(rehearsal.changes) - len(rows)
    return tag(
        "section",
        tag("h2", "The change"),
        table(["Place", "Before", "After"], rows),
        tag("p", f"and {count(left, 'more place')}", cls="soft") if left else "",
    )


def _shifts(rehearsal: Rehearsal) -> Markup:
    if not rehearsal.shifts:
        return Markup("")
    rows = [
        [
            text_of(shift.called) + ("" if shift.edited else ", moved along"),
            degrees(shift.mean_deg),
            degrees(shift.peak_deg),
            seconds(shift.seconds),
        ]
        for shift in rehearsal.shifts
    ]
    return tag("section", tag("h2", "What moves"), table(["", "Mean", "At most", "For"], rows))


def _cells(rehearsal: Rehearsal) -> Markup:
    """The cells of the map that move most."""
    if not rehearsal.cells:
        return Markup("")
    axes = rehearsal.statement.sheets[0].calibration.spark.map.axes
    rows = [
        [
            ", ".join(quantity(x, a.unit) for x, a in zip(cell.at, axes, strict=True)),
            degrees(cell.mean_deg),
            seconds(cell.seconds),
        ]
        for cell in rehearsal.cells[:_MOST_CELLS]
    ]
    left = len(rehearsal.cells) - len(rows)
    return tag(
        "section",
        tag("h2", "Where in the map"),
        table(["Cell", "Moves", "For"], rows),
        tag("p", f"and {count(left, 'more cell')}, in the JSON", cls="soft") if left else "",
    )
