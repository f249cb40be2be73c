"""What a correction that was not logged may have done is no argument against one that is computed.

A suspicion fits almost anything: without the correction that really acted, it would speak for what
that one did as well. So an explanation gets no credit for suspecting what another sheet, or the
same one as it was handed over, accounts for by numbers.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain.cost import left_over
from tuneledger.explain.finding import Finding


def suspected(finding: Finding) -> BoolArray:
    """The rows for which something speaks that cannot be posted."""
    rows: BoolArray = np.zeros(finding.book.times.shape, dtype=np.bool_)
    for extra in finding.extras:
        if extra.values is None:
            rows |= extra.rows
    return rows


def undue(
    findings: Sequence[Finding], ways: Sequence[Sequence[Finding]], both: Sequence[BoolArray]
) -> float:
    """Nats that an explanation saves by suspecting what another one computes.

    findings: one per log; ways: all explanations, each with a finding per log
    both: the rows of each log of which every explanation's sheet says something
    """
    rows = [suspected(one) & here for one, here in zip(findings, both, strict=True)]
    if not any(here.any() for here in rows):
        return 0.0
    computed = [_computes(way, rows) for way in ways if way is findings or _only_less(way)]
    return _computes(findings, rows) - min(computed)


def _computes(findings: Sequence[Finding], rows: Sequence[BoolArray]) -> float:
    """What the sheet's own numbers leave over in some rows, before anything else is thought of."""
    return sum(
        left_over(one.book, one.base, here) for one, here in zip(findings, rows, strict=True)
    )


def _only_less(findings: Sequence[Finding]) -> bool:
    """Whether a sheet is taken as it was handed over, or with less: what is off, or another
    revision's, in it may be made to fit."""
    return all(d.what in ("off", "rewritten") for one in findings for d in one.departures)
