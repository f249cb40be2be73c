"""What adds degrees where the channel of delivered may have gone round: no surer than that.

It stays told first, and the warning with it: that it went round is a suspicion too.
"""

from collections.abc import Sequence
from dataclasses import replace

from tuneledger.explain.finding import Finding
from tuneledger.explain.model import Cause, Point

_EITHER = 0.5


def if_it_went_round(causes: Sequence[Cause], findings: Sequence[Finding]) -> tuple[Cause, ...]:
    """The causes, those that raise under load with the rival that they have in the channel."""
    says = [text for finding in findings for text in finding.book.roles.perhaps_round]
    if not says:
        return tuple(causes)
    return tuple(_no_surer(cause, says[0]) for cause in causes)


def _no_surer(cause: Cause, rival: str) -> Cause:
    if not cause.raises_under_load or cause.kind == "unknown":
        return cause
    against = (*cause.evidence, Point("against", rival))
    return replace(cause, certainty=min(cause.certainty, _EITHER), evidence=against)
