"""What is said about the logs beside the causes: notes, and what would have to be logged."""

from collections.abc import Iterable, Sequence

from tuneledger.calibrations.model import readings
from tuneledger.explain import brief, containing
from tuneledger.explain.bystanders import bystanders
from tuneledger.explain.finding import Finding
from tuneledger.explain.inturn import moments
from tuneledger.explain.mapcause import MapDeparture, other_car_notes
from tuneledger.explain.model import Cause, Need, Running
from tuneledger.explain.onecar import doubts
from tuneledger.explain.stuck import lost, stuck
from tuneledger.explain.ties import where_they_differ
from tuneledger.explain.undecided import notes as open_notes
from tuneledger.explain.undecided import undecided
from tuneledger.roles.model import Doubt
from tuneledger.wording import listing, share


def needs_of(findings: Iterable[Finding]) -> tuple[Need, ...]:
    """What would have to be logged, each thing once."""
    needs: dict[str, Need] = {}
    for finding in findings:
        for one in finding.book.roles.wanting:
            needs.setdefault(one.signal.casefold(), Need(one.signal, one.why))
        for extra in finding.extras:
            for need in extra.needs:
                needs.setdefault(need.what.casefold(), need)
    return tuple(needs.values())


def two_cars(findings: Sequence[Finding]) -> list[str]:
    """Whether each other log is of the first one's car, where the logs speak against it."""
    books = [finding.book for finding in findings]
    names = [book.log.file for book in books]
    if len(set(names)) < len(names):
        names = [f"log {number}" for number in range(1, len(names) + 1)]
    first = [(books[0].log, books[0].inputs)]
    out = []
    for book, name in zip(books[1:], names[1:], strict=True):
        found = list(doubts(first, [(book.log, book.inputs)], (f"in {names[0]}", f"in {name}")))
        if found:
            out.append(f"are {names[0]} and {name} of one car? {'; '.join(found)}")
    return out


def notes_of(
    findings: Sequence[Finding],
    maps: Sequence[MapDeparture],
    says_running: Running | None,
    causes: Sequence[Cause],
) -> tuple[str, ...]:
    """All notes, each once.

    maps: where scheduled is not what the first sheet's map says
    """
    # First what puts all the rest in doubt: a short paper shows the first notes only.
    notes = dict.fromkeys(
        (
            *two_cars(findings),
            *containing.notes(findings),
            *other_car_notes(maps),
            *brief.notes(findings),
        )
    )
    beside = (one.says for one in bystanders(findings))
    notes |= dict.fromkeys((*stuck(findings), *lost(findings), *beside))
    notes |= dict.fromkeys(
        note
        for finding in findings
        for note in (
            *finding.book.log.notes,
            *finding.book.log.cell_notes,
            *finding.book.roles.notes,
            *(_doubt(doubt) for doubt in finding.book.roles.doubts if _matters(doubt, finding)),
            *finding.book.notes,
            *(finding.trial.notes if finding.trial else ()),
        )
    )
    notes |= dict.fromkeys((*_load_notes(findings, causes), *open_notes(undecided(findings))))
    if says_running and says_running.best is not None and says_running.twins:
        notes[says_running.says] = None
        notes |= dict.fromkeys(where_they_differ(findings, says_running))
    if says_running:
        files = [finding.book.log.file for finding in findings]
        notes |= dict.fromkeys(moments(says_running.spans, files))
    return tuple(notes)


def _load_notes(findings: Sequence[Finding], causes: Sequence[Cause]) -> list[str]:
    """That load was assumed, where delivered stands above scheduled and nothing tells load."""
    if not any(cause.raises_under_load for cause in causes):
        return []
    return [
        f"in {finding.book.log.file} neither throttle, manifold pressure nor engine load tells "
        "where the engine was under load: where delivered stands above scheduled, it is taken to be"
        for finding in findings
        if not finding.book.regimes.load_told.any()
    ]


def _matters(doubt: Doubt, finding: Finding) -> bool:
    """Whether a supplied sheet reads the signal that no channel is sure enough for."""
    return any(
        doubt.signal in (reading.signal, reading.minus, reading.over)
        for sheet in finding.laid
        for reading in readings(sheet.calibration.spark)
    )


def _doubt(doubt: Doubt) -> str:
    candidates = [f"{c.name} ({share(certainty)})" for c, certainty in doubt.candidates[:2]]
    which = f"; perhaps {listing(candidates, 'or')}" if candidates else ""
    return f"not sure which channel is {doubt.signal}{which}: a roles file settles it"
