"""What nobody accounts for: its size, its time, its regime and what changed at its edges."""

from collections.abc import Sequence

import numpy as np

from tuneledger.explain import says
from tuneledger.explain.causes import raises_under_load
from tuneledger.explain.edges import changed_at
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import Cause, Point
from tuneledger.ledger.episodes import Run


def unknown_causes(findings: Sequence[Finding]) -> list[Cause]:
    """What is left over and nobody accounts for: one cause per direction and regime."""
    groups: dict[tuple[bool, str], list[tuple[Finding, Run]]] = {}
    for finding in findings:
        for run in finding.unknown:
            rows = slice(run[0], run[1] + 1)
            added = float(np.nanmean(finding.account.left[rows])) > 0
            regime = finding.book.regimes.most(rows)
            groups.setdefault((added, regime), []).append((finding, run))
    return [_unknown_cause(regime, runs) for (_, regime), runs in groups.items()]


def _unknown_cause(regime: str, runs: Sequence[tuple[Finding, Run]]) -> Cause:
    book = runs[0][0].book
    changed = changed_at(book, [run for finding, run in runs if finding.book is book])
    values = np.concatenate([f.account.left[a : b + 1] for f, (a, b) in runs])
    values = values[np.isfinite(values)]
    seconds = sum(f.book.times[b] - f.book.times[a] + f.book.row_s for f, (a, b) in runs)
    raises = False
    for finding, (a, b) in runs:
        rows = np.zeros(finding.book.times.shape, dtype=np.bool_)
        rows[a : b + 1] = True
        raises |= raises_under_load(finding, finding.account.left, rows & finding.book.judged)
    told = says.Told(
        kind="unknown",
        name=regime,
        degrees=float(values.mean()),
        seconds=float(seconds),
        peak=float(values[np.abs(values).argmax()]),
        raises=raises,
        changed=changed,
        stretches=len(runs),
    )
    return Cause(
        rank=0,
        kind="unknown",
        correction=None,
        revision=None,
        channel=None,
        degrees=told.degrees,
        seconds=told.seconds,
        certainty=0.0,
        expected=False,
        says=says.cause(told),
        next_step=says.next_step(told),
        evidence=tuple(Point("for", f"{name} changes at its edges", name) for name in changed),
        raises_under_load=raises,
    )
