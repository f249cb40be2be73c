"""The answer for other programs: CONTRACT section 4, `tuneledger-findings/1`."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from tuneledger.audit.accepted import mark_of
from tuneledger.audit.model import Audit, Finding
from tuneledger.audit.sheet import Audited

FORMAT = "tuneledger-findings/1"
_PLACES = 4


def as_json(audit: Audit) -> dict[str, Any]:
    """Findings in their order, and the reach of every sheet cell by cell.

    A cell that is not known has null for its ends. `mark` and `accepted` go beyond the contract:
    what an acceptance names as `of`, and the owner's reason where it is accepted.
    """
    return {
        "format": FORMAT,
        "findings": [_finding(finding, audit.sheets) for finding in audit.findings],
        "reach": [{"file": s.file, "cells": list(_cells(s))} for s in audit.sheets],
    }


def _finding(finding: Finding, sheets: Sequence[Audited]) -> dict[str, Any]:
    own = next(sheet for sheet in sheets if sheet.file == finding.file)
    return {
        "check": finding.check,
        "severity": finding.severity,
        "places": list(finding.places),
        "says": finding.says,
        "do": finding.do,
        "mark": mark_of(finding, own.file, own.calibration),
        "accepted": finding.accepted,
    }


def _cells(sheet: Audited) -> Iterator[dict[str, Any]]:
    """One entry for each cell, in the order of the values."""
    axes = sheet.calibration.spark.map.axes
    low, high = sheet.reach.lowest, sheet.reach.highest
    for index in np.ndindex(sheet.reach.scheduled.shape):
        yield {
            "at": [axis.at[i] for axis, i in zip(axes, index, strict=True)],
            "lowest_deg": _degrees(float(low.degrees[index])),
            "highest_deg": _degrees(float(high.degrees[index])),
            "exact": sheet.reach.exact,
            "lowest_by": [name for name, cells in low.by.items() if cells[index]],
            "highest_by": [name for name, cells in high.by.items() if cells[index]],
        }


def _degrees(value: float) -> float | None:
    return round(float(value), _PLACES) + 0.0 if np.isfinite(value) else None
