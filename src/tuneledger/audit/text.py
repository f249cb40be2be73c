"""The audit for a terminal: headline, what was read, findings, the reach as a picture, cautions."""

from collections.abc import Iterator

from tuneledger.audit.groups import Group, groups, headline
from tuneledger.audit.model import SEVERITIES, Audit
from tuneledger.audit.picture import picture
from tuneledger.audit.sheet import Audited
from tuneledger.record import record
from tuneledger.statement.paper import (
    Line,
    Words,
    fitted,
    labelled,
    line,
    paragraph,
    printed,
    stacked,
)
from tuneledger.wording import count, degrees, listing

LABELS = 11
WIDEST, NARROWEST = 100, 32
_LEAST_DEG = 0.05  # what is less is written as nothing
CARE = (
    "This reads the calibration, not the engine: nothing here says that a timing is safe. Too much "
    "advance can detonate an engine in seconds; too much retard overheats exhaust, valves and "
    "turbo. Change in small steps, with knock and exhaust temperature watched, on a dynamometer or "
    "closed course, by someone qualified. Vehicles for public roads must keep to the local "
    "emission and safety rules."
)


@record
class Fold:
    """How many findings are told in full, how many notes; every danger and every fault is."""

    told: int
    notes: int
    grid: bool


FOLDS = (
    *(Fold(99, 99, True), Fold(8, 8, True), Fold(5, 5, True), Fold(4, 3, True), Fold(2, 2, True)),
    *(Fold(5, 4, False), Fold(3, 3, False), Fold(2, 2, False), Fold(1, 1, False)),
)


def as_text(
    audit: Audit,
    *,
    width: int = 80,
    height: int = 40,
    colour: bool = False,
    everything: bool = False,
) -> str:
    """The audit as text, at most `height` lines where folding allows it.

    everything: nothing is folded away
    """
    width = max(min(width, WIDEST), NARROWEST)
    found = groups(audit)
    gravest = found[0].severity if found else "note"
    head = paragraph(headline(audit), width, "stop" if gravest == "danger" else "strong")
    shown_map = list(picture(audit.sheets[-1], width))
    least = len(CARE) // width + len(head)
    for fold in FOLDS:
        shown = FOLDS[0] if everything else fold
        if not everything and fold is not FOLDS[-1] and least + _least(audit, found, fold) > height:
            continue  # not worth writing out
        parts = [
            head,
            _facts(audit, found, width),
            _findings(found, shown, width),
            _notes(audit, found, shown, width, everything),
        ]
        parts += [shown_map if shown.grid else []]
        parts += [labelled("Take care", [CARE], width, LABELS)]
        lines = stacked(parts)
        if everything or len(lines) <= height:
            break
    return printed(lines, colour)


def _least(audit: Audit, found: list[Group], fold: Fold) -> int:
    """Lines that findings and notes take in this fold at the very least."""
    asked = len(_in_full([group for group in found if group.severity != "note"], fold))
    notes = sum(group.severity == "note" and _is_of_now(group, audit) for group in found)
    return 3 * asked + min(notes, fold.notes)


def _in_full(asked: list[Group], fold: Fold) -> list[Group]:
    """Those that are told in full: never fewer than all dangers and faults, which come first."""
    grave = sum(group.severity in ("danger", "fault") for group in asked)
    return asked[: max(grave, fold.told)]


def _facts(audit: Audit, found: list[Group], width: int) -> list[Line]:
    return [
        row for label, text in facts(audit, found) for row in labelled(label, [text], width, LABELS)
    ]


def facts(audit: Audit, found: list[Group]) -> list[tuple[str, str]]:
    """What was read, how far the newest sheet reaches, how much was found; each with its name."""
    counted = [
        count(n, "danger") if s == "danger" else count(n, s)
        for s in SEVERITIES
        if (n := sum(g.severity == s for g in found))
    ]
    accepted = sum(f.accepted is not None for f in audit.findings)
    counted += [f"{accepted} accepted"] if accepted else []
    rows = [("Sheet" if len(audit.sheets) == 1 else "Sheets", _sheets(audit))]
    rows += [("Log", audit.log)] if audit.log else []
    return [*rows, ("Reach", _reach(audit.sheets[-1])), ("Found", listing(counted) or "nothing")]


def _sheets(audit: Audit) -> str:
    def one(sheet: Audited) -> str:
        work = sheet.calibration.spark.correction
        on = sum(c.enabled for c in work)
        return (
            f"{sheet.file}, revision {sheet.calibration.revision}, "
            f"{count(len(work), 'correction')}, {on} switched on"
        )

    if len(audit.sheets) < 3:
        return "; ".join(one(sheet) for sheet in audit.sheets)
    revisions = listing([sheet.called for sheet in audit.sheets])
    return f"revisions {revisions}; the newest is {one(audit.sheets[-1])}"


def _reach(sheet: Audited) -> str:
    """How far the newest sheet goes, in a sentence."""
    import numpy as np

    low, high, grid = (
        sheet.reach.lowest.degrees,
        sheet.reach.highest.degrees,
        sheet.reach.scheduled,
    )
    if np.isnan(grid).all():
        return "not known"
    least, most = float(np.nanmin(low)), float(np.nanmax(high))
    under, over = float(np.nanmin(low - grid)), float(np.nanmax(high - grid))
    if sheet.reach.exact and max(-under, over) < _LEAST_DEG:
        ends = [degrees(end, signed=False) for end in (least, most)]
        return f"nothing moves the map's own {listing(dict.fromkeys(ends), 'to')}"
    exact = "" if sheet.reach.exact else ", at most (see docs/reach.md)"
    return (
        f"{degrees(least, signed=False)} to {degrees(most, signed=False)} can be delivered; "
        f"from {degrees(under)} to {degrees(over)} off the map{exact}"
    )


def _findings(found: list[Group], fold: Fold, width: int) -> list[Line]:
    asked = [g for g in found if g.severity != "note"]
    out: list[Line] = []
    told = _in_full(asked, fold)
    for group in told:
        out += _told(group, width)
    rest = asked[len(told) :]
    if rest:
        out += paragraph(
            f"and {count(len(rest), 'more finding')}; --all shows them", width, "faint", 3
        )
    return out


def _told(group: Group, width: int) -> list[Line]:
    number = f"{group.number}".ljust(3)
    room = max(width - len(number) - len(group.severity) - 2, 8)
    place = fitted(f"{group.first.check}, {_place(group)}", room)
    head = line(number, Words(group.severity, "strong"), Words(f"  {place}", "faint"))
    body = paragraph(group.first.says, width, indent=3)
    return [head, *body, *_hanging("   Do: ", group.first.do, width)]


def _place(group: Group) -> str:
    places = group.first.places
    more = f" and {len(places) - 1} more" if len(places) > 2 else ""
    named = " and ".join(p.rpartition(":")[2] for p in places[: 1 if more else 2])
    return f"{listing(group.files)}: {named}{more}"


def _hanging(head: str, text: str, width: int) -> list[Line]:
    rows = paragraph(text, width, indent=len(head))
    return [line(Words(head, "faint"), *rows[0][1:]), *rows[1:]]


def _is_of_now(group: Group, audit: Audit) -> bool:
    """Whether it concerns the newest sheet, not only one that is history."""
    return audit.sheets[-1].file in group.files


def _notes(
    audit: Audit, found: list[Group], fold: Fold, width: int, everything: bool
) -> list[Line]:
    """The notes on the newest sheet, then how many more there are, in it and in older ones only."""
    notes = [g for g in found if g.severity == "note"]
    now = [g for g in notes if everything or _is_of_now(g, audit)]
    texts = list(_note_texts(audit, now))
    shown = texts if len(texts) <= fold.notes + 1 else texts[: fold.notes]
    more = len(texts) - len(shown)
    older = len(notes) - len(now)
    rest = [f"{more} more"] if more else []
    rest += [f"{count(older, 'note')} on older revisions only"] if older else []
    if rest:
        shown = [*shown, f"and {listing(rest)}; --all shows them"]
    return labelled("Notes", shown, width, LABELS)


def _note_texts(audit: Audit, notes: list[Group]) -> Iterator[str]:
    """Two of one name and what changed first, then what limits hold, then what moves the advance.

    Of several revisions each note says on which it is.
    """
    order = ("one-name", "changed", "unknown-cells", "limit-works", "moves")
    revisions = {s.file: s.called for s in audit.sheets}
    rank = {check: n for n, check in enumerate(order)}
    for group in sorted(notes, key=lambda g: rank.get(g.first.check, len(order))):
        on = [revisions[file] for file in group.files]
        name = f"Revision{'s' * (len(on) > 1)} {listing(on)}: " if len(audit.sheets) > 1 else ""
        yield f"{name}{group.first.says}"
