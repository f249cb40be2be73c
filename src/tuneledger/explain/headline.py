"""One sentence that a driver would understand."""

from collections.abc import Sequence

import numpy as np

from tuneledger.explain.finding import Finding
from tuneledger.explain.model import Cause, Need, Running
from tuneledger.explain.verdict import Verdict
from tuneledger.wording import degree_span, degrees, listing, quantity, seconds

NOT_THE_CRANK = "The crank was not checked."


def headline(
    verdict: Verdict,
    findings: Sequence[Finding],
    causes: Sequence[Cause],
    running: Running | None,
    needs: Sequence[Need],
) -> str:
    """The headline: danger first, then whether it is the supplied file, then the first cause."""
    raising = next((cause for cause in causes if cause.raises_under_load), None)
    if raising is not None:
        return _stop(raising, findings)
    if verdict == "cannot tell":
        return _cannot_tell(causes, needs)
    if verdict == "agrees":
        return _agrees(findings)
    if verdict == "expected":
        return _expected(findings, causes)
    first = causes[0]
    name = running.best if running and not running.matches_supplied else None
    if name and running and name != running.supplied:
        telling = next((c for c in causes if c.kind in ("other revision", "other map")), first)
        return (
            f"Behaves like revision {name}, not {running.supplied}: {_lowered(telling.says)} "
            "Read the ECU back before loading anything."
        )
    if verdict == "unexplained":
        unknown = next((cause for cause in causes if cause.kind == "unknown"), first)
        return f"Not explained yet: {_lowered(unknown.says)} {unknown.next_step}"
    return f"{first.says} {first.next_step}"


def no_delivered(file: str) -> str:
    """The headline where the log does not say what the ECU delivered."""
    return f"Cannot tell: {file} carries no delivered advance. Log it together with scheduled."


def nothing_to_start_from(file: str) -> str:
    """The headline where neither the log nor a sheet says what was asked for."""
    return (
        f"Cannot tell: {file} carries no scheduled advance, and no sheet that can be computed "
        "from it was given. Log scheduled advance, or send the calibration."
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
    who = _lowered(cause.says) if cause.kind != "unknown" else "nothing supplied accounts for it."
    return (
        f"Stop: delivered is up to {degrees(worst, signed=False)} above scheduled{at}; {who} "
        "No load until it is understood."
    )


def _operating_point(finding: Finding, row: int) -> str:
    pressure = finding.book.inputs.signal("manifold absolute pressure", "kPa")
    if pressure is not None and np.isfinite(pressure[row]):
        return f" at {quantity(round(float(pressure[row])), 'kPa')}"
    speed = finding.book.inputs.signal("engine speed", "rpm")
    if speed is not None and np.isfinite(speed[row]):
        return f" at {quantity(round(float(speed[row]), -1), 'rpm')}"
    return ""


def _cannot_tell(causes: Sequence[Cause], needs: Sequence[Need]) -> str:
    suspect = next((cause for cause in causes if cause.certainty < 0.8), None)
    wanted = listing(need.what for need in needs)
    if suspect is None:
        return f"Cannot tell: log {wanted} as well."
    return f"Cannot tell yet: {_lowered(suspect.says)} {suspect.next_step}"


def _agrees(findings: Sequence[Finding]) -> str:
    within = max(_usual_gap(finding) for finding in findings)
    lasted = sum(float(np.ptp(finding.book.times)) for finding in findings)
    return (
        f"Agrees: delivered stays within {degrees(within, signed=False)} of scheduled for all "
        f"{seconds(lasted)}. {NOT_THE_CRANK}"
    )


def _usual_gap(finding: Finding) -> float:
    """The widest difference beyond what lag and slope explain, at least one step of a tenth."""
    book = finding.book
    gap = np.abs(book.delivered - book.start)[book.judged] - book.slack[book.judged]
    return max(0.1, float(gap.max(initial=0.0)))


def _expected(findings: Sequence[Finding], causes: Sequence[Cause]) -> str:
    names = listing(dict.fromkeys(_entry_name(cause) for cause in causes))
    low, high, lasted = 0.0, 0.0, 0.0
    for finding in findings:
        book = finding.book
        gap = np.where(book.judged, book.delivered - book.start, 0.0)
        differs = np.abs(gap) > book.tolerance + book.slack
        low, high = (
            min(low, gap[differs].min(initial=0.0)),
            max(high, gap[differs].max(initial=0.0)),
        )
        lasted += sum(cause.seconds for cause in causes) / len(findings)
    return (
        f"Differs only as expected ({names}: {seconds(lasted)}, {degree_span(low, high)}); "
        f"otherwise delivered follows scheduled. {NOT_THE_CRANK}"
    )


def _entry_name(cause: Cause) -> str:
    return cause.correction or ("the idle governor" if cause.expected else str(cause.kind))


def _lowered(text: str) -> str:
    """A sentence to go on with after a colon; a name in capitals keeps them."""
    return text if len(text) > 1 and text[1].isupper() else text[:1].lower() + text[1:]
