"""Corrections that the sheet says should have acted, and that the log shows did not.

Nothing is missing from delivered then, and the car may drive as asked; but the ECU is not running
that sheet, and if the correction protects something, it does not.
"""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain import says
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import Cause, Point
from tuneledger.ledger.episodes import episode, merged, true_runs
from tuneledger.ledger.model import Entry, Episode

_CERTAINTY = 0.9


def silent_entries(finding: Finding) -> list[Entry]:
    """What the chosen sheet posts and the chosen account does not."""
    if finding.trial is None:
        return []
    names = {d.correction for d in finding.departures if d.what == "off"}
    return [e for e in finding.trial.account.ledger.entries if e.correction in names]


def silent_episodes(findings: Sequence[Finding]) -> list[Episode]:
    """The stretches in which a correction of the sheet should have acted."""
    return [
        episode(finding.ledger, run, log=number, regimes=finding.book.regimes)
        for number, finding in enumerate(findings)
        for entry in silent_entries(finding)
        for run in merged(
            true_runs(_should_act(finding, entry)), finding.book.times, finding.book.row_s
        )
    ]


def silent_causes(findings: Sequence[Finding]) -> list[Cause]:
    """One cause per correction that stayed silent."""
    return [
        _cause(finding, entry, rows)
        for finding in findings
        for entry in silent_entries(finding)
        if (rows := _should_act(finding, entry)).any()
    ]


def _should_act(finding: Finding, entry: Entry) -> BoolArray:
    size = np.abs(entry.values)
    return np.asarray(finding.book.judged & (size > finding.book.tolerance))


def _cause(finding: Finding, entry: Entry, rows: BoolArray) -> Cause:
    sheet = finding.account.sheet
    correction = sheet.correction(entry.correction) if sheet else None
    degrees = float(entry.values[rows].mean())
    lasted = float(rows.sum()) * finding.book.row_s / max(float(finding.book.own.mean()), 1e-9)
    told = says.Told(
        kind="correction",
        name=correction.called if correction else entry.correction,
        degrees=degrees,
        seconds=lasted,
        peak=degrees,
        revision=sheet.revision if sheet else None,
        reason=correction.reason if correction else None,
    )
    return Cause(
        rank=0,
        kind="correction",
        correction=entry.correction,
        revision=told.revision,
        channel=None,
        degrees=-degrees,
        seconds=lasted,
        certainty=_CERTAINTY,
        expected=False,
        says=says.silent(told),
        next_step=says.silent_next(told),
        evidence=(Point("for", "delivered follows scheduled where it should have acted"),),
    )
