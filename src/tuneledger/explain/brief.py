"""How long was compared, and whether that is too little to agree upon."""

from collections.abc import Sequence

import numpy as np

from tuneledger.explain.finding import Finding
from tuneledger.wording import count, seconds

# Less than a pull through one gear, or than a handful of samples: common practice, no source.
_LEAST_S = 5.0
_FEWEST_ROWS = 20
# Of the running revision, where no more was seen.
MOST_SURE = 0.5


def judged_seconds(finding: Finding) -> float:
    """How long delivered could be compared: what no sample or no spark leaves out is not agreed."""
    book = finding.book
    own = np.flatnonzero(book.own)
    if own.size == 0:
        return 0.0
    return float(np.ptp(book.times)) * float(book.judged[own].mean())


def too_brief(findings: Sequence[Finding]) -> bool:
    """Whether all logs together are too short to say anything of the car."""
    return sum(map(judged_seconds, findings)) < _LEAST_S or _rows(findings) < _FEWEST_ROWS


def notes(findings: Sequence[Finding]) -> list[str]:
    """That so little was compared, as a note; empty where it was enough."""
    if not too_brief(findings):
        return []
    lasted = sum(map(judged_seconds, findings))
    return [
        f"only {count(_rows(findings), 'sample')} over {seconds(lasted)} could be compared: what "
        "acts elsewhere, or later, cannot have been seen; log a whole run"
    ]


def _rows(findings: Sequence[Finding]) -> int:
    return sum(int(finding.book.judged.sum()) for finding in findings)
