"""A sheet whose map is not what was asked for in most of the samples: perhaps of another car.

That comes before whatever the sheet lists: until it is clear, nothing of it is told with
confidence, unless it accounts for all else that the logs show.
"""

from collections.abc import Sequence
from dataclasses import replace

from tuneledger.explain.finding import Finding
from tuneledger.explain.included import EITHER
from tuneledger.explain.mapcause import MapDeparture, foreign_share
from tuneledger.explain.model import Cause
from tuneledger.wording import share


def another_car(departures: Sequence[MapDeparture], findings: Sequence[Finding]) -> str:
    """The sentences for a headline; empty where the first sheet's map, or another's, fits."""
    if not (least := _foreign(departures, findings)):
        return ""
    return (
        f"The map of {findings[0].laid[0].file} is not what was asked for in {share(least)} of the "
        "samples: the sheet may be of another car, or its map was replaced as a whole. Make sure "
        "first that it is the right one."
    )


def _foreign(departures: Sequence[MapDeparture], findings: Sequence[Finding]) -> float:
    """In which share of every log the first sheet's map is not what was asked for; 0 where it is
    in any of them: then that log is asked about, not the sheet."""
    if len(departures) < len(findings):
        return 0.0
    return min(map(foreign_share, departures), default=0.0)


def no_confidence(
    causes: Sequence[Cause], departures: Sequence[MapDeparture], findings: Sequence[Finding]
) -> tuple[Cause, ...]:
    """The causes, those that the first sheet lists no surer than one of two, where it may be of
    another car and leaves something over."""
    silent = any(cause.entry is None and cause.correction for cause in causes)
    comes_out = not silent and all(f.settled and not f.extras for f in findings)
    if comes_out or not _foreign(departures, findings):
        return tuple(causes)
    return tuple(
        replace(cause, certainty=EITHER)
        if _of_the_sheet(cause, findings[0]) and cause.certainty > EITHER
        else cause
        for cause in causes
    )


def _of_the_sheet(cause: Cause, finding: Finding) -> bool:
    """Whether a cause is what the first sheet lists, and no channel of the log carries it."""
    first = finding.laid[0]
    if cause.expected or cause.channel or cause.kind == "other map":
        return False
    return cause.file == first.file or (
        cause.file is None and first.correction(cause.correction or "") is not None
    )
