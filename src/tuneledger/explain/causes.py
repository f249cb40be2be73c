"""From what the logs posted to a list of causes, one per kind of thing and not per transient."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Correction
from tuneledger.explain import says
from tuneledger.explain.account import LIMIT, OTHER_MAP
from tuneledger.explain.evidence import conditions_seen
from tuneledger.explain.finding import Finding
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Cause, Kind, Point
from tuneledger.explain.sheets import LaidSheet, same_correction
from tuneledger.ledger.episodes import entries_slack
from tuneledger.ledger.model import Entry

# An entry is worth naming as a cause from this many rows on.
_LEAST_ROWS = 2


@dataclass(frozen=True, eq=False)
class Acting:
    """Where one entry acts in one log: rows beyond tolerance, and whether the sum comes out there.

    right: share of those rows in which nothing is left over
    raises: it puts delivered above scheduled under load there
    """

    finding: Finding
    entry: Entry
    rows: BoolArray
    right: float
    raises: bool

    @property
    def seconds(self) -> float:
        return float(self.rows.sum()) * self.finding.book.row_s / max(self._own_share, 1e-9)

    @property
    def _own_share(self) -> float:
        return float(self.finding.book.own.mean())


def acting(finding: Finding, entry: Entry) -> Acting | None:
    """The rows in which an entry matters, or None where it never does."""
    book = finding.book
    size = np.abs(np.nan_to_num(entry.values))
    rows = book.judged & (size > book.tolerance)
    if rows.sum() < _LEAST_ROWS:
        return None
    bound = book.tolerance + book.slack + entries_slack(finding.ledger.entries, finding.ledger)
    left = finding.account.judging.beyond_leeway
    told = rows & np.isfinite(left)
    right = float((np.abs(left[told]) <= bound[told]).mean()) if told.any() else 1.0
    return Acting(finding, entry, rows, right, raises_under_load(finding, entry.values, rows))


def raises_under_load(finding: Finding, values: FloatArray, rows: BoolArray) -> bool:
    """Delivered stands above scheduled under load, by more than tolerance, and this adds to it."""
    book = finding.book
    above = book.delivered - book.start > book.tolerance + book.slack
    hit = rows & book.regimes.load & above & (np.nan_to_num(values) > book.tolerance)
    return bool(hit.sum() >= _LEAST_ROWS)


def entry_causes(findings: Sequence[Finding]) -> list[Cause]:
    """One cause per correction, limit or map that acts in any of the logs."""
    extra_entries = {e.entry for f in findings for e in f.extras if e.entry}
    grouped: dict[str, list[Acting]] = {}
    for finding in findings:
        for entry in finding.ledger.entries:
            where = acting(finding, entry)
            if where is not None and entry.correction not in extra_entries:
                grouped.setdefault(entry.correction, []).append(where)
    return [_entry_cause(name, where) for name, where in grouped.items()]


def _entry_cause(name: str, where: Sequence[Acting]) -> Cause:
    laid = where[0].finding.laid
    kind, revision, correction = _kind(name, where[0])
    degrees, seconds = mean_degrees(where), sum(w.seconds for w in where)
    expected = all(w.entry.expected is not None for w in where)
    raises = any(w.raises for w in where)
    certainty = _certainty(where)
    told = says.Told(
        kind=kind,
        name=correction.called if correction else says.ENTRY_NAMES.get(name, name),
        degrees=degrees,
        seconds=seconds,
        peak=_peak(where),
        revision=revision,
        supplied=laid[0].revision if laid else None,
        switched_off=correction is not None and kind != "other revision" and not correction.enabled,
        reason=correction.reason if correction else None,
        channel=where[0].entry.channel,
        expected=where[0].entry.expected if expected else None,
        raises=raises,
    )
    return Cause(
        rank=0,
        kind=kind,
        correction=None if name in (LIMIT, OTHER_MAP) else name,
        revision=revision,
        channel=where[0].entry.channel,
        degrees=degrees,
        seconds=seconds,
        certainty=certainty,
        expected=expected,
        says=says.cause(told),
        next_step=says.next_step(told),
        evidence=tuple(_evidence(correction, where)),
        raises_under_load=raises,
        entry=name,
    )


def _kind(name: str, where: Acting) -> tuple[Kind, str | None, Correction | None]:
    """Whose correction it is: the first sheet's where that has it alike and switched on."""
    laid = where.finding.laid
    if not laid:
        return "unknown", None, None
    first, owner = laid[0], _owner(name, where)
    if name == LIMIT:
        same = owner.calibration.spark.limits == first.calibration.spark.limits
        return "limit", first.revision if same else owner.revision, None
    if name == OTHER_MAP:
        return "other revision", owner.revision, None
    theirs, mine = owner.correction(name), first.correction(name)
    if owner is not first and not (same_correction(mine, theirs) and mine and mine.enabled):
        return "other revision", owner.revision, theirs
    kind: Kind = "replacement" if theirs and theirs.effect == "replace" else "correction"
    return kind, first.revision, theirs


def _owner(name: str, where: Acting) -> LaidSheet:
    """The sheet that a posting comes from, by its file: revisions may share a name."""
    account = where.finding.account
    part = next((one for one in account.parts if one.correction == name), None)
    chosen = account.sheet or where.finding.laid[0]
    if part is None:
        return chosen
    same_file = (sheet for sheet in where.finding.laid if sheet.parts.get(name) is not None)
    return next((s for s in same_file if s.file == part.source.file), chosen)


def _evidence(correction: Correction | None, where: Sequence[Acting]) -> Iterator[Point]:
    right = float(np.average([w.right for w in where], weights=[w.rows.sum() for w in where]))
    yield Point("for" if right >= 0.9 else "against", says.sum_comes_out(right))
    channel = where[0].entry.channel
    if channel:
        yield Point("for", f"the channel {channel} carries it", channel)
    if correction is not None:
        yield from conditions_seen(correction, where[0].finding.book)


def extra_causes(findings: Sequence[Finding]) -> list[Cause]:
    """One cause per thing that was found beyond the sheets."""
    return [_extra_cause(finding, extra) for finding in findings for extra in finding.extras]


def _extra_cause(finding: Finding, extra: Extra) -> Cause:
    book = finding.book
    values = extra.values if extra.values is not None else _not_posted(finding)
    rows = book.judged & extra.rows & (np.abs(np.nan_to_num(values)) > book.tolerance)
    degrees = float(values[rows].mean()) if rows.any() else 0.0
    seconds = float(rows.sum()) * book.row_s / max(float(book.own.mean()), 1e-9)
    sheet = finding.account.sheet
    correction = sheet.correction(extra.correction) if sheet and extra.correction else None
    raises = raises_under_load(finding, values, rows)
    units = {channel.name: channel.unit for channel in book.log.channels}
    told = says.Told(
        kind=extra.kind,
        name=correction.called if correction else says.extra_name(extra, units),
        degrees=degrees,
        seconds=seconds,
        peak=float(values[rows][np.abs(values[rows]).argmax()]) if rows.any() else 0.0,
        revision=extra.revision,
        supplied=finding.laid[0].revision if finding.laid else None,
        reason=correction.reason if correction else None,
        channel=extra.channel,
        expected=extra.expected,
        raises=raises,
        missing=tuple(need.what for need in extra.needs),
        rewritten=extra.rule is not None and extra.correction is not None,
    )
    return Cause(
        rank=0,
        kind=extra.kind,
        correction=extra.correction,
        revision=extra.revision,
        channel=extra.channel,
        degrees=degrees,
        seconds=seconds,
        certainty=extra.certainty,
        expected=extra.expected is not None,
        says=says.cause(told),
        next_step=says.next_step(told),
        evidence=extra.points,
        rule=extra.rule,
        cells=extra.cells,
        alternatives=extra.alternatives,
        raises_under_load=raises,
        entry=extra.entry,
    )


def _not_posted(finding: Finding) -> FloatArray:
    """What delivered departs by, less everything that is posted: what a suspect may have taken."""
    out = finding.book.delivered - finding.book.start
    for entry in finding.ledger.entries:
        out = out - np.nan_to_num(entry.values)
    return out


def ranked(causes: Iterable[Cause]) -> tuple[Cause, ...]:
    """Causes in the contract's order, numbered from 1."""
    order = sorted(
        causes, key=lambda c: (not c.raises_under_load, c.expected, -abs(c.degrees) * c.seconds)
    )
    return tuple(replace(cause, rank=rank) for rank, cause in enumerate(order, start=1))


def mean_degrees(where: Sequence[Acting]) -> float:
    return float(np.concatenate([w.entry.values[w.rows] for w in where]).mean())


def _peak(where: Sequence[Acting]) -> float:
    values = np.concatenate([w.entry.values[w.rows] for w in where])
    return float(values[np.abs(values).argmax()])


def _certainty(where: Sequence[Acting]) -> float:
    """How sure: the sum comes out where it acts, over enough rows to mean something."""
    rows = sum(int(w.rows.sum()) for w in where)
    right = float(np.average([w.right for w in where], weights=[w.rows.sum() for w in where]))
    seen = 1.0 - 0.5 ** (rows / 3.0)
    return round(float(np.clip(0.99 * right**1.5 * seen, 0.0, 0.99)), 2)
