"""One sentence that a driver would understand."""

from collections.abc import Sequence

import numpy as np

from tuneledger.explain.agreement import agrees, only_expected, started_from
from tuneledger.explain.containing import ahead
from tuneledger.explain.cylinders import told_aside
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import STILL, Cause, Need, Running
from tuneledger.explain.nextstep import IF_MEANT, NO_LOAD, all_understood
from tuneledger.explain.remarks import two_cars
from tuneledger.explain.risen import highest, put_there, unlisted
from tuneledger.explain.sheets import label
from tuneledger.explain.ties import named_tied
from tuneledger.explain.unsettled import cannot_tell, doubted, first_step, not_sure, unsettled
from tuneledger.explain.untrusted import unsaid
from tuneledger.explain.verdict import Verdict
from tuneledger.wording import (
    count,
    degrees,
    listing,
    quantity,
    sentence,
    these_logs,
)

READ_BACK = "Read the ECU back before loading anything."
_ONE_CAR = "Are these logs of one car? The notes say what speaks against it."
# Where another sheet than the first one runs, these say which.
_SAY_WHICH: tuple[Verdict, ...] = ("agrees", "explained", "unexplained")


def headline(
    verdict: Verdict,
    findings: Sequence[Finding],
    causes: Sequence[Cause],
    running: Running | None,
    needs: Sequence[Need],
    another_car: str = "",
) -> str:
    """The headline: danger first, then what scheduled contains unsaid, then whether it is the
    supplied file, then the causes by rank; then what is sure and in no file, and another cylinder
    that departs; last, where another sheet fits as well, that it does.

    Whether the logs are of one car at all, where they speak against it, comes before the causes.

    another_car: why the first sheet may be of another car, before any cause; empty where not
    """
    said = _said(verdict, findings, causes, running, needs)
    if two_cars(findings):
        said = f"{said} {_ONE_CAR}" if said.startswith("Stop:") else f"{_ONE_CAR} {said}"
    elif another_car:
        said = f"{said} {another_car}" if said.startswith("Stop:") else another_car
    elif contains := ahead(findings):
        said = f"{said} {contains}" if said.startswith("Stop:") else f"{contains} {said}"
    said = " ".join((said, *unlisted(said, causes)))
    if verdict not in ("agrees", "expected"):  # there it stands before the crank
        said = " ".join(part for part in (said, told_aside(findings, said)) if part)
    said = f"{said} {unsaid(findings)}".rstrip()
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
        return agrees(findings, running, _not_as_supplied(findings, running))
    if verdict == "expected":
        return only_expected(findings, causes)
    if running and running.changed:
        but = "" if running.best else ", but for what no sheet has"
        elsewhere = f"{sentence(running.says).rstrip('.')}{but}"
    else:
        elsewhere = _not_as_supplied(findings, running)
    if elsewhere:
        return _behaves(elsewhere, causes)
    if verdict == "unexplained":
        return unsettled(causes)
    first = sentence(doubted(causes[0]))
    return " ".join((first, first_step(causes[0]), *_also(causes[:1], causes)))


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
    top = highest(findings)
    told, adds = (put_there(top, causes) if top else None) or (cause, 0.0)
    who = doubted(told) if told.kind != "unknown" else "nothing supplied accounts for it."
    if adds and told.degrees < 0:  # what takes advance elsewhere
        who = f"{who.rstrip('.')}; there it adds {degrees(adds, signed=False)}."
    where = _operating_point(top.finding, top.row) if top else ""
    return (
        f"Stop: delivered is up to {degrees(top.degrees if top else 0.0, signed=False)} above "
        f"{started_from(findings)}{where}; {who} "
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
