"""Sheets made at the desk of what came out of a control unit, as `tuneledger sheet from` does it.

A description (ASAM MCD-2 MC) with each of its images, and each file of ASAM CDF, becomes a sheet by
the one mapping that lies in the case.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path

from tuneledger.audit.checks.unit_slip import misread_axes
from tuneledger.calibrations.asam.files import Given, open_store
from tuneledger.calibrations.asam.mapping.choose import choose
from tuneledger.calibrations.asam.parameter import Entry, Store
from tuneledger.calibrations.asam.tell import SAYS
from tuneledger.calibrations.text import parse, read_text
from tuneledger.desk.case import Paper, Settings
from tuneledger.desk.intake import free_name
from tuneledger.errors import Fault, UsageError
from tuneledger.record import record
from tuneledger.wording import listing

MOST_LISTED = 2000


@record
class Made:
    """A sheet that was made.

    name:   the file that it would be
    source: the image or file of CDF that its numbers are from, as a paper of the case is called
    notes:  what was assumed, as sentences
    """

    name: str
    source: str
    text: str
    notes: tuple[str, ...]


def make_sheets(settings: Settings) -> list[Made]:
    """A sheet for each image and each file of CDF, in the order of the case.

    A `TuneledgerError` that says what is missing or wrong; nothing is made then.
    """
    if not settings.of("description", "image", "instances", "mapping"):
        return []
    _complete(settings)
    mapping = settings.of("mapping")[0]
    raw = parse(read_text(mapping.path, mapping.name), mapping.name)
    taken = [paper.name for paper in settings.papers]
    made: list[Made] = []
    for source, beside, store in _stores(settings):
        chosen = choose(raw, store, mapping.name)
        name = free_name(f"{Path(source.name).stem or 'made'}.toml", taken)
        taken.append(name)
        names = listing(paper.name for paper in (*beside, source))
        slips = (f"{one.paths[0]}: {one.says}" for one in misread_axes(chosen.calibration))
        notes = tuple(f"{name}: {note}" for note in (*store.notes, *chosen.notes, *slips))
        made.append(Made(name, source.name, chosen.text(f"{names} by {mapping.name}"), notes))
    return made


def contents(settings: Settings) -> tuple[Entry, ...]:
    """What the first of the calibrations holds, for somebody who writes a mapping; may be empty.

    A `TuneledgerError` where it cannot be read.
    """
    found: list[Entry] = []
    for _, _, store in _stores(settings):
        for entry in store.entries():
            found.append(entry)
            if len(found) >= MOST_LISTED:
                break
        break
    return tuple(found)


def _stores(settings: Settings) -> Iterator[tuple[Paper, Sequence[Paper], Store]]:
    """Each source of numbers, with the files that describe it, opened."""
    described = settings.of("description")
    paths = tuple(paper.path for paper in described)
    for source in settings.of("image", "instances") or described[:1]:
        if source.kind == "instances":
            yield source, (), open_store(Given(instances=(source.path,)), settings.wishes)
        elif source.kind == "image":
            given = Given(paths, (source.path,))
            yield source, described, open_store(given, settings.wishes)
        else:
            yield source, (), open_store(Given(paths), settings.wishes)


def _complete(settings: Settings) -> None:
    """UsageError with everything that is missing, each by the file that needs it."""
    faults = list(_missing(settings))
    if faults:
        raise UsageError(faults)


def _missing(settings: Settings) -> Iterator[Fault]:
    described, images = settings.of("description"), settings.of("image")
    instances, mappings = settings.of("instances"), settings.of("mapping")
    if images and not described:
        yield _needs(images[0], SAYS["image"], SAYS["description"], "that says what its bytes mean")
    if described and not images:
        yield _needs(described[0], SAYS["description"], SAYS["image"], "that holds its numbers")
    if mappings and not (described or images or instances):
        what = f"{SAYS['description']} with its image, or {SAYS['instances']}"
        yield _needs(mappings[0], "a mapping", what, "that holds what it names")
    if not mappings:
        source = (*images, *instances, *described)[0]
        yield Fault(
            "no mapping lies in this case",
            file=source.name,
            expected="one: a sheet in which the control unit's names stand for numbers",
            do="Which parameter is the main map, and which are corrections, no file of a control "
            "unit says: write it down once for the car, and add that file "
            '(docs/calibrations.md, "The mapping", has an example).',
        )
    if len(mappings) > 1:
        names = listing(paper.name for paper in mappings)
        yield Fault(f"{len(mappings)} mappings lie in this case: {names}", do="Leave one of them.")


def _needs(paper: Paper, what: str, other: str, reason: str) -> Fault:
    do = f"Add it, or remove {paper.name}."
    return Fault(f"this is {what}", file=paper.name, expected=f"{other} beside it, {reason}", do=do)
