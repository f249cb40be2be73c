"""What the headline says where nothing is wrong, and how far that goes."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.brief import judged_seconds, too_brief
from tuneledger.explain.bystanders import aside, bystanders
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import Cause, Running
from tuneledger.explain.undecided import clause, undecided
from tuneledger.ledger.episodes import departures
from tuneledger.ledger.episodes import seconds as seconds_of
from tuneledger.wording import degree_span, degrees, listing, seconds, sentence

NOT_THE_CRANK = "The crank was not checked."
_LEAST_LACKING_S = 1.0  # a moment without an input says little: judgement


def agrees(findings: Sequence[Finding], running: Running | None, elsewhere: str) -> str:
    """That delivered follows what was asked for, within what and for how long.

    elsewhere: that another sheet than the first one runs, a clause; empty where it does not
    """
    tolerance = max(finding.book.tolerance for finding in findings)
    lasted = sum(map(judged_seconds, findings))
    within = degrees(tolerance, signed=False)
    lacking = sum(_seconds_without_start(finding) for finding in findings)
    brief = too_brief([finding.book for finding in findings])
    only = f", but for {seconds(lasted)} only, which says nothing of the car" if brief else ""
    smoothed = any(finding.book.smoothing is not None for finding in findings)
    but_for = "lag, slope and smoothing" if smoothed else "lag and slope"
    text = (
        f"Agrees{only}: delivered follows {started_from(findings)} within {within}, {but_for} "
        f"apart, for all {seconds(lasted)}{_not_compared(findings, lacking)}. "
        f"{_after_all(findings)}"
    )
    if running and running.best and running.changed:
        return f"{sentence(running.says)} {text}"
    return f"{elsewhere}. {text}" if elsewhere else text


def _after_all(findings: Sequence[Finding]) -> str:
    """What an agreement does not speak of."""
    parts = (aside(bystanders(findings)), clause(undecided(findings)), NOT_THE_CRANK)
    return " ".join(part for part in parts if part)


def _seconds_without_start(finding: Finding) -> float:
    """How long delivered is there with nothing to hold it against: a map that is open there."""
    book = finding.book
    own = np.flatnonzero(book.own)
    bare = ~book.regimes.void & np.isfinite(book.delivered) & ~np.isfinite(book.start)
    return float(np.ptp(book.times)) * float(bare[own].mean()) if own.size else 0.0


def _not_compared(findings: Sequence[Finding], lacking_s: float) -> str:
    """That agreement is claimed for no more than could be compared."""
    if lacking_s < _LEAST_LACKING_S:
        return ""
    return f" in which {started_from(findings)} is known; for {seconds(lacking_s)} it is not"


def started_from(findings: Sequence[Finding]) -> str:
    """What delivered is compared with: scheduled, or the first sheet's map in its place."""
    book = findings[0].book
    if book.scheduled is not None or not findings[0].laid:
        return "scheduled"
    return f"the map of {findings[0].laid[0].file}"


def only_expected(findings: Sequence[Finding], causes: Sequence[Cause]) -> str:
    """That all that differs is ordinary: what it is, for how long and by how much."""
    names = listing(dict.fromkeys(_entry_name(cause, findings) for cause in causes))
    within = degrees(max(finding.book.tolerance for finding in findings), signed=False)
    low, high, lasted = 0.0, 0.0, 0.0
    only = causes[0] if len(causes) == 1 else None
    for finding in findings:
        book = finding.book
        gap = _posted(only, finding) if only else book.delivered - book.start
        gap = np.where(book.judged, gap, 0.0)
        differs = np.abs(gap) > book.tolerance + book.slack
        low, high = (
            min(low, gap[differs].min(initial=0.0)),
            max(high, gap[differs].max(initial=0.0)),
        )
        lasted += seconds_of(departures(finding.ledger), book.times, book.row_s)
    lasted = only.seconds if only else lasted  # the same as the cause below says of itself
    return (
        f"Differs only as expected ({names}: {seconds(lasted)}, {degree_span(low, high)}); "
        f"otherwise delivered follows {started_from(findings)} within {within}. "
        f"{_after_all(findings)}"
    )


def _posted(cause: Cause, finding: Finding) -> FloatArray:
    """What the one cause posts in each row; where it posts none, how far delivered is off."""
    entries = [e.values for e in finding.ledger.entries if e.correction == cause.entry]
    return entries[0] if entries else finding.book.delivered - finding.book.start


def _entry_name(cause: Cause, findings: Sequence[Finding]) -> str:
    """What it is called in its sheet; without one it is the governor, which a log alone shows."""
    for sheet in findings[0].laid:
        correction = sheet.correction(cause.correction or "")
        if correction is not None:
            return correction.called
    return cause.correction or ("the idle governor" if cause.expected else str(cause.kind))
