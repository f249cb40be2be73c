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


def another_car(departures: Sequence[MapDeparture]) -> str:
    """The sentences for a headline; empty where the first sheet's map, or another's, fits."""
    worst = max(departures, key=foreign_share, default=None)
    if worst is None or not foreign_share(worst):
        return ""
    return (
        f"The map of {worst.finding.laid[0].file} is not what was asked for in "
        f"{share(foreign_share(worst))} of the samples: the sheet may be of another car, or its "
        "map was replaced as a whole. Make sure first that it is the right one."
    )


def no_confidence(
    causes: Sequence[Cause], departures: Sequence[MapDeparture], findings: Sequence[Finding]
) -> tuple[Cause, ...]:
    """The causes, those that the first sheet lists no surer than one of two, where it may be of
    another car and leaves something over."""
    silent = any(cause.entry is None and cause.correction for cause in causes)
    comes_out = not silent and all(f.settled and not f.extras for f in findings)
    if comes_out or not any(map(foreign_share, departures)):
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
