"""What nobody accounts for: its size, its time, its regime and what changed at its edges."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain import nextstep, says
from tuneledger.explain.edges import changed_at
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import Cause, Point
from tuneledger.explain.raised import load_told, raised_rows
from tuneledger.explain.told import Told
from tuneledger.ledger.episodes import Run, merged, rows_of
from tuneledger.ledger.model import Episode
from tuneledger.ledger.regimes import REGIMES

# Below this share of the time a stretch lies only mostly in its regime.
_WHOLLY = 0.8
# The regime of what goes on in any, always by the same amount: so many tolerances at the least, in
# so many of the rows, for so long; stretches nearer than this are one. Judgement.
_ANY, _PLAIN, _NEARLY_ALL, _LEAST_S, _APART_S = "any", 3.0, 0.9, 2.0, 0.5


def unknown_causes(
    findings: Sequence[Finding], episodes: Sequence[Episode], bare: Sequence[Episode]
) -> list[Cause]:
    """One cause per direction and regime, for what is left over and for episodes without a cause.

    bare: episodes for which nothing was found, such as many small postings that only together
    go beyond tolerance
    """
    groups: dict[tuple[bool, str], list[tuple[Finding, Run]]] = {}
    runs = [(f, run) for f in findings for run in f.unknown]
    runs += [(findings[e.log], (e.first, e.last)) for e in bare if e.about == "delivery"]
    for finding, run in runs:
        added = float(np.nanmean(_left(finding, run))) > 0
        regime = finding.book.regimes.most(slice(run[0], run[1] + 1))
        groups.setdefault((added, regime), []).append((finding, run))
    for added in (False, True):
        apart = [key for key in groups if key[0] is added]
        at = [one for key in apart for one in groups[key]]
        if len(apart) > 1 and _always_as_much(at):
            groups = {key: groups[key] for key in groups if key not in apart}
            groups[added, _ANY] = sorted(at, key=lambda one: one[1])
    return [
        replace(_unknown_cause(regime, at), episodes=_touched(at, findings, episodes))
        for (_, regime), at in groups.items()
    ]


def _always_as_much(at: Sequence[tuple[Finding, Run]]) -> bool:
    """Whether all that is left over in the runs is one amount: a switch that nobody logged comes
    and goes with no regard to what the engine does."""
    values = np.concatenate([_left(f, run) for f, run in at])
    values = values[np.isfinite(values)]
    tolerance = max(finding.book.tolerance for finding, _ in at)
    lasts = sum(f.book.times[b] - f.book.times[a] for f, (a, b) in at)
    if (
        not values.size
        or lasts < _LEAST_S
        or abs(amount := float(np.median(values))) <= _PLAIN * tolerance
    ):
        return False
    near = np.abs(np.abs(values) - abs(amount)) <= tolerance
    return bool(near.mean() >= _NEARLY_ALL)


def _moments(at: Sequence[tuple[Finding, Run]]) -> tuple[float, ...]:
    """When the runs of a log begin and end, seconds; those that nearly touch are one."""
    book = at[0][0].book
    own = merged([run for finding, run in at if finding.book is book], book.times, _APART_S)
    return tuple(float(book.times[row]) for run in own for row in run)


def _left(finding: Finding, run: Run) -> FloatArray:
    """What is left over in a run; the whole difference where every row is accounted for."""
    rows = slice(run[0], run[1] + 1)
    left = finding.account.left[rows]
    if np.nanmax(np.abs(left), initial=0.0) > finding.book.tolerance:
        return left
    return (finding.book.delivered - finding.book.start)[rows]


def _touched(
    at: Sequence[tuple[Finding, Run]], findings: Sequence[Finding], episodes: Sequence[Episode]
) -> tuple[int, ...]:
    return tuple(
        i
        for i, e in enumerate(episodes)
        if e.about == "delivery"
        and any(findings[e.log] is f and run[0] <= e.last and run[1] >= e.first for f, run in at)
    )


def _unknown_cause(regime: str, runs: Sequence[tuple[Finding, Run]]) -> Cause:
    book = runs[0][0].book
    changed = changed_at(book, [run for finding, run in runs if finding.book is book])
    values = np.concatenate([_left(f, run) for f, run in runs])
    values = values[np.isfinite(values)]
    seconds = sum(f.book.times[b] - f.book.times[a] + f.book.row_s for f, (a, b) in runs)
    moments = _moments(runs) if regime == _ANY else ()
    changed = () if moments else changed
    raised = [(f, _raised(f, run)) for f, run in runs]
    raises = any(rows.any() for _, rows in raised)
    told = Told(
        kind="unknown",
        name="whatever the engine did" if regime == _ANY else _place(regime, runs),
        degrees=float(values.mean()),
        seconds=float(seconds),
        peak=float(values[np.abs(values).argmax()]),
        span=(float(values.min()), float(values.max())),
        raises=raises,
        load_told=any(load_told(f, rows) for f, rows in raised),
        changed=changed,
        stretches=len(moments) // 2 if moments else len(runs),
        moments=moments,
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
        next_step=nextstep.next_step(told),
        evidence=tuple(Point("for", f"{name} changes at its edges", name) for name in changed),
        raises_under_load=raises,
    )


def _place(regime: str, runs: Sequence[tuple[Finding, Run]]) -> str:
    """`under load`; `mostly under load` where the runs go through other regimes as well."""
    codes = np.concatenate([f.book.regimes.code[a : b + 1] for f, (a, b) in runs])
    mixed = (codes == REGIMES.index(regime)).mean() < _WHOLLY
    return ("mostly " if mixed else "") + says.REGIME_PLACES[regime]


def _raised(finding: Finding, run: Run) -> BoolArray:
    """Where the run stands above scheduled under load, whoever has a part in it."""
    book = finding.book
    rows = rows_of([run], book.times.size) & book.judged
    return raised_rows(finding, book.delivered - book.start, rows)
