"""A correction that accounts for its own rows as its sheet has it needs no other numbers.

Nor does one whose sheet leaves numbers open, where some numbers there make the account come out:
nothing that the sheet says is contradicted.

Where another rule acts elsewhere, something may stay left over beside a correction, at its edges or
at that rule's. A correction left out, and a rule fitted in its place, says a little of that too,
since it chooses its own numbers. But the sheet's numbers were not chosen to fit this log: that
they account for all the rows in which the correction acts is more than a fitted rule can show.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import Extra
from tuneledger.ledger.episodes import rows_of

# Of the rows in which a correction acts its sheet accounts for so many, edges apart.
_ACCOUNTED_SHARE = 0.95
# Two rules of two explanations are the same one where they post the same in so many of their rows.
_SAME_RULE = 0.8
# What other numbers settle besides is little beside how long the correction acts.
_LITTLE_SHARE = 0.1


def needless(findings: Sequence[Finding], ways: Sequence[Sequence[Finding]]) -> bool:
    """Whether an explanation leaves out a correction that another one, with the same rules
    elsewhere, carries out as its sheet has it, and that then accounts for its own rows.

    findings: one per log; ways: all explanations, each with a finding per log
    """
    if any(_filled(name, way) for name in _left_out(findings) for way in ways):
        return True
    return any(
        all(_stands(name, mine, other) for mine, other in zip(findings, way, strict=True))
        for name in _left_out(findings)
        for way in ways
        if name not in _departed(way)
        and any(other.extras for other in way)
        and any(_acts(name, other).any() for other in way)
    )


def _filled(name: str, way: Sequence[Finding]) -> bool:
    """Whether an explanation has the correction as its sheet does, with its open cells filled, and
    leaves nothing over."""
    fills = any(
        e.cells and e.correction == name and e.values is None for f in way for e in f.extras
    )
    return fills and name not in _departed(way) and all(f.settled for f in way)


def _left_out(findings: Sequence[Finding]) -> set[str]:
    """The corrections that an explanation leaves out, be it that a rule stands for them."""
    return {d.correction for f in findings for d in f.departures if d.what in ("rewritten", "off")}


def _departed(findings: Sequence[Finding]) -> set[str]:
    return {d.correction for f in findings for d in f.departures}


def _stands(name: str, without: Finding, beside: Finding) -> bool:
    """Whether a correction accounts for its rows in one log, beside the rules that the explanation
    without it has as well."""
    if without.trial is None or beside.trial is None:
        return False
    if without.trial.sheet is not beside.trial.sheet or beside.stretches:
        return False
    acts = _acts(name, beside)
    left = rows_of(beside.account.runs, acts.size)
    if left[acts].sum() > (1.0 - _ACCOUNTED_SHARE) * acts.sum():
        return False
    tolerance = beside.book.tolerance
    if not all(any(_same(e, o, tolerance) for o in without.extras) for e in beside.extras):
        return False
    settled = left & ~rows_of(without.account.runs, acts.size)
    return bool(settled.sum() <= _LITTLE_SHARE * acts.sum())


def _acts(name: str, finding: Finding) -> BoolArray:
    """The rows in which a correction acts as the sheet has it."""
    values = [e.values for e in finding.base.ledger.entries if e.correction == name]
    rows: BoolArray = np.zeros(finding.book.times.shape, dtype=np.bool_)
    for one in values:
        rows |= np.abs(np.nan_to_num(one)) > finding.book.tolerance
    return rows & np.isfinite(finding.base.left)


def _same(one: Extra, other: Extra, tolerance: float) -> bool:
    """Whether two explanations have the same rule: where either acts both do, by as much."""
    either = one.rows | other.rows
    if one.values is None or other.values is None:
        alike = one.rows & other.rows & (one.values is other.values)
    else:
        alike = np.abs(np.nan_to_num(one.values) - np.nan_to_num(other.values)) <= tolerance
    return bool(either.any() and alike[either].mean() >= _SAME_RULE)
