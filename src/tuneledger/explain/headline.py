"""One sentence that a driver would understand."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.brief import judged_seconds, too_brief
from tuneledger.explain.bystanders import aside
from tuneledger.explain.cylinders import told_aside
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import STILL, Cause, Need, Running
from tuneledger.explain.nextstep import IF_MEANT, NO_LOAD, all_understood
from tuneledger.explain.sheets import label
from tuneledger.explain.ties import named_tied
from tuneledger.explain.undecided import clause, undecided
from tuneledger.explain.unsettled import cannot_tell, doubted, not_sure, unsettled
from tuneledger.explain.verdict import Verdict
from tuneledger.ledger.episodes import departures
from tuneledger.ledger.episodes import seconds as seconds_of
from tuneledger.wording import (
    count,
    degree_span,
    degrees,
    listing,
    quantity,
    seconds,
    sentence,
    these_logs,
)

READ_BACK = "Read the ECU back before loading anything."
# Where another sheet than the first one runs, these say which.
_SAY_WHICH: tuple[Verdict, ...] = ("agrees", "explained", "unexplained")
_LEAST_LACKING_S = 1.0
NOT_THE_CRANK = "The crank was not checked."


def headline(
    verdict: Verdict,
    findings: Sequence[Finding],
    causes: Sequence[Cause],
    running: Running | None,
    needs: Sequence[Need],
) -> str:
    """The headline: danger first, then whether it is the supplied file, then the causes by rank;
    then another cylinder that departs; last, where another sheet fits as well, that it does."""
    said = _said(verdict, findings, causes, running, needs)
    if verdict not in ("agrees", "expected"):  # there it stands before the crank
        said = " ".join(part for part in (said, told_aside(findings, causes)) if part)
    tied = named_tied(findings, running)
    stops = _never_moves(causes) is None and _raising(causes) is not None
    if not tied or stops or _named_already(verdict, causes, findings, running):
        return said
    logs = these_logs(len(findings)).capitalize()
    return f"{said} {logs} cannot tell revision {tied[0]} from {listing(tied[1:], 'or')}."


def _said(
    verdict: Verdict,
    findings: Sequence[Finding],
    causes: Sequence[Cause],
    running: Running | None,
    needs: Sequence[Need],
) -> str:
    still, raising = _never_moves(causes), _raising(causes)
    if still is not None:
        return not_sure(still)
    if raising is not None and raising.kind == "unknown" and raising.channel:
        return f"Stop: {doubted(raising)} {NO_LOAD}"
    if raising is not None:
        return _stop(raising, causes, findings)
    if verdict == "cannot tell":
        return cannot_tell(findings, causes, needs)
    if verdict == "agrees":
        return _agrees(findings, running)
    if verdict == "expected":
        return _expected(findings, causes)
    if running and running.best and running.changed:
        elsewhere = sentence(running.says).rstrip(".")
    else:
        elsewhere = _not_as_supplied(findings, running)
    if elsewhere:
        return _behaves(elsewhere, causes)
    if verdict == "unexplained":
        return unsettled(causes)
    first = sentence(doubted(causes[0]))
    return " ".join((first, causes[0].next_step, *_also(causes[:1], causes)))


def _never_moves(causes: Sequence[Cause]) -> Cause | None:
    return next((cause for cause in causes if cause.entry == STILL), None)


def _raising(causes: Sequence[Cause]) -> Cause | None:
    return next((cause for cause in causes if cause.raises_under_load), None)


def _named_already(
    verdict: Verdict, causes: Sequence[Cause], findings: Sequence[Finding], running: Running | None
) -> bool:
    """Whether the headline's first words name the tied sheets: see `_not_as_supplied`."""
    others = bool(_tied_others(findings, running))
    return verdict in _SAY_WHICH and _never_moves(causes) is None and others


def _tied_others(findings: Sequence[Finding], running: Running | None) -> list[str]:
    """What the tied sheets are called, where the logs speak against the first one."""
    laid = findings[0].laid
    if running is None or not laid:
        return []
    first = laid[0].file
    like = (running.best_file, *running.twins, *running.unjudged)
    return [] if first in like else named_tied(findings, running)


def _behaves(elsewhere: str, causes: Sequence[Cause]) -> str:
    """That another revision is in the car, the cause that shows it, and what else there is."""
    telling = next((c for c in causes if c.kind in ("other revision", "other map")), causes[0])
    says = f"{elsewhere}: {doubted(telling).rstrip('.')}."
    return " ".join((says, READ_BACK, *_also([telling], causes)))


def _also(told: Sequence[Cause], causes: Sequence[Cause]) -> list[str]:
    """What else has a part in it, without what is expected: the next in rank and how many more."""
    rest = [cause for cause in causes if cause not in told and not cause.expected]
    known = {cause.correction for cause in told if cause.correction}
    rest.sort(key=lambda cause: cause.correction in known)  # stable: by rank otherwise
    if not rest:
        return []
    more = f", and {count(len(rest) - 1, 'more cause')}" if len(rest) > 1 else ""
    again = rest[0].correction in known and rest[0].revision
    also = f"Also, of revision {rest[0].revision}" if again else "Also"
    return [f"{also}: {doubted(rest[0]).rstrip('.')}{more}."]


def _not_as_supplied(findings: Sequence[Finding], running: Running | None) -> str:
    """`Behaves like revision C, not D`; empty where the first sheet runs, or none fits."""
    laid = findings[0].laid
    if running is None or running.best is None or not running.spans or not laid:
        return ""
    chosen = next((sheet for sheet in laid if sheet.file == running.spans[0].file), laid[0])
    if chosen is laid[0]:
        return ""
    first, logs = label(laid[0], laid), these_logs(len(findings))
    if laid[0].file in running.unjudged:
        return f"Behaves like revision {label(chosen, laid)}; {first} says nothing of {logs}"
    if laid[0].file in running.twins:
        return f"Behaves like revision {label(chosen, laid)}, as {first} may with its open numbers"
    tied = listing(_tied_others(findings, running), "or")
    if tied:
        return f"Behaves like revision {tied}, which {logs} cannot tell apart, not {first}"
    return f"Behaves like revision {label(chosen, laid)}, not {first}"


def _stop(cause: Cause, causes: Sequence[Cause], findings: Sequence[Finding]) -> str:
    """The worst sample under load, and who put it there."""
    worst, at = 0.0, ""
    for finding in findings:
        book = finding.book
        above = np.where(book.judged & book.regimes.load, book.delivered - book.start, -np.inf)
        row = int(np.argmax(above - book.slack))
        if above[row] > worst:
            worst, at = float(above[row]), _operating_point(finding, row)
    who = doubted(cause) if cause.kind != "unknown" else "nothing supplied accounts for it."
    return (
        f"Stop: delivered is up to {degrees(worst, signed=False)} above "
        f"{_started_from(findings)}{at}; {who} "
        f"{IF_MEANT if all_understood(causes) else NO_LOAD}"
    )


def _operating_point(finding: Finding, row: int) -> str:
    pressure = finding.book.inputs.signal("manifold absolute pressure", "kPa")
    if pressure is not None and np.isfinite(pressure[row]):
        return f" at {quantity(round(float(pressure[row])), 'kPa')}"
    speed = finding.book.inputs.signal("engine speed", "rpm")
    if speed is not None and np.isfinite(speed[row]):
        return f" at {quantity(round(float(speed[row]), -1), 'rpm')}"
    return ""


def _agrees(findings: Sequence[Finding], running: Running | None) -> str:
    tolerance = max(finding.book.tolerance for finding in findings)
    lasted = sum(map(judged_seconds, findings))
    within = degrees(tolerance, signed=False)
    lacking = sum(_seconds_without_start(finding) for finding in findings)
    brief = too_brief([finding.book for finding in findings])
    only = f", but for {seconds(lasted)} only, which says nothing of the car" if brief else ""
    smoothed = any(finding.book.smoothing is not None for finding in findings)
    but_for = "lag, slope and smoothing" if smoothed else "lag and slope"
    text = (
        f"Agrees{only}: delivered follows {_started_from(findings)} within {within}, {but_for} "
        f"apart, for all {seconds(lasted)}{_not_compared(findings, lacking)}. "
        f"{_after_all(findings)}"
    )
    if running and running.best and running.changed:
        return f"{sentence(running.says)} {text}"
    elsewhere = _not_as_supplied(findings, running)
    return f"{elsewhere}. {text}" if elsewhere else text


def _after_all(findings: Sequence[Finding]) -> str:
    """What an agreement does not speak of."""
    parts = (aside(findings), clause(undecided(findings)), NOT_THE_CRANK)
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
    return f" in which {_started_from(findings)} is known; for {seconds(lacking_s)} it is not"


def _started_from(findings: Sequence[Finding]) -> str:
    """What delivered is compared with: scheduled, or the first sheet's map in its place."""
    book = findings[0].book
    if book.scheduled is not None or not findings[0].laid:
        return "scheduled"
    return f"the map of {findings[0].laid[0].file}"


def _expected(findings: Sequence[Finding], causes: Sequence[Cause]) -> str:
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
        f"otherwise delivered follows {_started_from(findings)} within {within}. "
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
