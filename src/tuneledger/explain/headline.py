"""One sentence that a driver would understand."""

from collections.abc import Sequence

import numpy as np

from tuneledger.explain.brief import judged_seconds, too_brief
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import STILL, SURE, Cause, Need, Running
from tuneledger.explain.says import NO_LOAD
from tuneledger.explain.sheets import label
from tuneledger.explain.undecided import clause, undecided
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
    share,
)

READ_BACK = "Read the ECU back before loading anything."
NAME_IT = "Name it in a roles file (--roles); `tuneledger look` shows why."
_LEAST_LACKING_S = 1.0
NOT_THE_CRANK = "The crank was not checked."


def headline(
    verdict: Verdict,
    findings: Sequence[Finding],
    causes: Sequence[Cause],
    running: Running | None,
    needs: Sequence[Need],
) -> str:
    """The headline: danger first, then whether it is the supplied file, then the causes by rank."""
    still = next((cause for cause in causes if cause.entry == STILL), None)
    if still is not None:
        return _not_sure(still)
    raising = next((cause for cause in causes if cause.raises_under_load), None)
    if raising is not None:
        return _stop(raising, findings)
    if verdict == "cannot tell":
        return _cannot_tell(findings, causes, needs)
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
        unknown = next((cause for cause in causes if cause.kind == "unknown"), None)
        if unknown is not None:
            return f"Not explained yet: {_lowered(unknown.says)} {unknown.next_step}"
        doubtful = min(causes, key=lambda c: (c.expected, c.certainty))
        return _not_sure(doubtful)
    first = sentence(_doubted(causes[0]))
    return " ".join((first, causes[0].next_step, *_also(causes[:1], causes)))


def _not_sure(cause: Cause) -> str:
    return f"Not sure yet ({share(cause.certainty)}): {_lowered(cause.says)} {cause.next_step}"


def _behaves(elsewhere: str, causes: Sequence[Cause]) -> str:
    """That another revision is in the car, the first cause, and the one that shows it."""
    telling = next((c for c in causes if c.kind in ("other revision", "other map")), causes[0])
    told = [telling] if causes[0].expected or telling is causes[0] else [causes[0], telling]
    says = "; ".join(_doubted(cause).rstrip(".") for cause in told)
    return " ".join((f"{elsewhere}: {says}.", READ_BACK, *_also(told, causes)))


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
    return [f"{also}: {_doubted(rest[0]).rstrip('.')}{more}."]


def _not_as_supplied(findings: Sequence[Finding], running: Running | None) -> str:
    """`Behaves like revision C, not D`; empty where the first sheet runs, or none fits."""
    laid = findings[0].laid
    if running is None or running.best is None or not running.spans or not laid:
        return ""
    chosen = next((sheet for sheet in laid if sheet.file == running.spans[0].file), laid[0])
    if chosen is laid[0]:
        return ""
    first = label(laid[0], laid)
    if laid[0].file in running.unjudged:
        return f"Behaves like revision {label(chosen, laid)}; {first} says nothing of this log"
    if laid[0].file in running.twins:
        return f"Behaves like revision {label(chosen, laid)}, as {first} may with its open numbers"
    return f"Behaves like revision {label(chosen, laid)}, not {first}"


def no_delivered(file: str, perhaps: Sequence[str]) -> str:
    """The headline where no channel is surely the delivered advance; `perhaps` names candidates."""
    if perhaps:
        return _not_sure_which(file, "delivered advance", perhaps)
    return f"Cannot tell: {file} carries no delivered advance. Log it together with scheduled."


def nothing_to_start_from(file: str, lacking: Sequence[str], perhaps: Sequence[str]) -> str:
    """The headline where neither the log nor a sheet says what was asked for.

    lacking: what the supplied map reads and the log does not carry
    perhaps: channels that may be the scheduled advance, none of them surely
    """
    if perhaps:
        return _not_sure_which(file, "scheduled advance", perhaps)
    if lacking:
        return (
            f"Cannot tell: {file} carries no scheduled advance, and the map cannot be computed "
            f"without {listing(lacking)}. Log scheduled advance, or {listing(lacking)}."
        )
    return (
        f"Cannot tell: {file} carries no scheduled advance, and no sheet was given. Log scheduled "
        "advance, or send the calibration."
    )


def _not_sure_which(file: str, signal: str, perhaps: Sequence[str]) -> str:
    return (
        f"Cannot tell: not sure which channel of {file} is the {signal}; perhaps "
        f"{listing(perhaps, 'or')}. {NAME_IT}"
    )


def _stop(cause: Cause, findings: Sequence[Finding]) -> str:
    """The worst sample under load, and who put it there."""
    worst, at = 0.0, ""
    for finding in findings:
        book = finding.book
        above = np.where(book.judged & book.regimes.load, book.delivered - book.start, -np.inf)
        row = int(np.argmax(above - book.slack))
        if above[row] > worst:
            worst, at = float(above[row]), _operating_point(finding, row)
    who = _doubted(cause) if cause.kind != "unknown" else "nothing supplied accounts for it."
    return (
        f"Stop: delivered is up to {degrees(worst, signed=False)} above "
        f"{_started_from(findings)}{at}; {who} "
        f"{NO_LOAD}"
    )


def _operating_point(finding: Finding, row: int) -> str:
    pressure = finding.book.inputs.signal("manifold absolute pressure", "kPa")
    if pressure is not None and np.isfinite(pressure[row]):
        return f" at {quantity(round(float(pressure[row])), 'kPa')}"
    speed = finding.book.inputs.signal("engine speed", "rpm")
    if speed is not None and np.isfinite(speed[row]):
        return f" at {quantity(round(float(speed[row]), -1), 'rpm')}"
    return ""


def _cannot_tell(
    findings: Sequence[Finding], causes: Sequence[Cause], needs: Sequence[Need]
) -> str:
    if not any(finding.book.judged.any() for finding in findings):
        return _nothing_to_judge(findings)
    suspect = next((cause for cause in causes if cause.certainty < 0.8), None)
    wanted = listing(need.what for need in needs)
    if suspect is None:
        return f"Cannot tell: log {wanted} as well."
    return f"Cannot tell yet: {_lowered(suspect.says)} {suspect.next_step}"


def _nothing_to_judge(findings: Sequence[Finding]) -> str:
    """No row of any log can be compared: most likely the engine was not turning."""
    files = listing(finding.book.log.file for finding in findings)
    if all(finding.book.regimes.void.all() for finding in findings):
        return (
            f"Cannot tell: the engine never turned in {files}, so no spark was delivered. Log a "
            "run with the engine on."
        )
    return (
        f"Cannot tell: in no sample of {files} are scheduled and delivered advance both known with "
        "the engine turning."
    )


def _agrees(findings: Sequence[Finding], running: Running | None) -> str:
    tolerance = max(finding.book.tolerance for finding in findings)
    lasted = sum(map(judged_seconds, findings))
    within = degrees(tolerance, signed=False)
    lacking = sum(_seconds_without_start(finding) for finding in findings)
    brief = too_brief(findings)
    only = f", but for {seconds(lasted)} only, which says nothing of the car" if brief else ""
    text = (
        f"Agrees{only}: delivered follows {_started_from(findings)} within {within}, lag and slope "
        f"apart, for all {seconds(lasted)}{_not_compared(findings, lacking)}. "
        + " ".join(part for part in (clause(undecided(findings)), NOT_THE_CRANK) if part)
    )
    if running and running.best and running.changed:
        return f"{sentence(running.says)} {text}"
    elsewhere = _not_as_supplied(findings, running)
    return f"{elsewhere}. {text}" if elsewhere else text


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
    for finding in findings:
        book = finding.book
        gap = np.where(book.judged, book.delivered - book.start, 0.0)
        differs = np.abs(gap) > book.tolerance + book.slack
        low, high = (
            min(low, gap[differs].min(initial=0.0)),
            max(high, gap[differs].max(initial=0.0)),
        )
        lasted += seconds_of(departures(finding.ledger), book.times, book.row_s)
    return (
        f"Differs only as expected ({names}: {seconds(lasted)}, {degree_span(low, high)}); "
        f"otherwise delivered follows {_started_from(findings)} within {within}. "
        + " ".join(part for part in (clause(undecided(findings)), NOT_THE_CRANK) if part)
    )


def _entry_name(cause: Cause, findings: Sequence[Finding]) -> str:
    """What it is called in its sheet; without one it is the governor, which a log alone shows."""
    for sheet in findings[0].laid:
        correction = sheet.correction(cause.correction or "")
        if correction is not None:
            return correction.called
    return cause.correction or ("the idle governor" if cause.expected else str(cause.kind))


def _doubted(cause: Cause) -> str:
    """What a cause says, to go on with after a colon; where it is not sure, that comes first."""
    text = _lowered(cause.says)
    if cause.kind == "unknown" or cause.certainty >= SURE:
        return text
    return f"not sure yet ({share(cause.certainty)}), {text}"


# How sentences begin that are ours; what else begins one is somebody's name for a correction.
_OURS = ("A ", "Another ", "Delivered ", "Nothing ", "Scheduled ", "The ")


def _lowered(text: str) -> str:
    """A sentence to go on with after a colon; names keep their letters as they are."""
    return text[:1].lower() + text[1:] if text.startswith(_OURS) else text
