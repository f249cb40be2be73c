"""What a correction that was not logged may have done is no argument against one that is computed.

A suspicion fits almost anything: without the correction that really acted, it would speak for what
that one did as well. So an explanation gets no credit for suspecting what another sheet, or the
same one as it was handed over, accounts for by numbers. Where the log shows the one number at which
it stood, that is a number too.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.cost import left_over
from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import Extra


def suspected(finding: Finding) -> BoolArray:
    """The rows for which something speaks that cannot be posted, and tells no number."""
    rows: BoolArray = np.zeros(finding.book.times.shape, dtype=np.bool_)
    for extra in finding.extras:
        if extra.values is None and not _told(extra):
            rows |= extra.rows
    return rows


def told(finding: Finding) -> FloatArray:
    """Degrees per row that suspicions with one number would post."""
    out: FloatArray = np.zeros(finding.book.times.shape)
    for extra in finding.extras:
        if extra.values is None and extra.shown is not None and _told(extra):
            out = out + extra.shown
    return out


def _told(extra: Extra) -> bool:
    """Whether it comes with one number for all its rows; cells that were fitted are many."""
    return extra.shown is not None and not extra.cells


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
