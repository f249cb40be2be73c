"""From what the logs posted to a list of causes, one per kind of thing and not per transient."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.calibrations.model import Correction
from tuneledger.explain import nextstep, says
from tuneledger.explain.account import LIMIT, OTHER_MAP
from tuneledger.explain.acts import Acting, acting, certainty
from tuneledger.explain.asrule import as_rule
from tuneledger.explain.evidence import conditions_seen, sum_comes_out
from tuneledger.explain.expected import Objection, objection
from tuneledger.explain.finding import Finding
from tuneledger.explain.model import SURE, Cause, Kind, Point, Rule
from tuneledger.explain.raised import load_told
from tuneledger.explain.sheets import LaidSheet, label, same_correction
from tuneledger.explain.ties import Ties
from tuneledger.explain.told import Told
from tuneledger.ledger.episodes import rows_of
from tuneledger.ledger.model import Episode


def entry_causes(findings: Sequence[Finding], tied: Ties) -> list[Cause]:
    """One cause per correction, limit or map that acts in any of the logs, and sheet that has it
    so."""
    extra_entries = {e.entry for f in findings for e in f.extras if e.entry}
    grouped: dict[tuple[str, str | None], list[Acting]] = {}
    for finding in findings:
        for entry in finding.ledger.entries:
            where = acting(finding, entry)
            if where is not None and entry.correction not in extra_entries:
                grouped.setdefault((entry.correction, entry.file), []).append(where)
    return [_entry_cause(name, where, tied) for (name, _), where in grouped.items()]


def small_causes(
    findings: Sequence[Finding],
    bare: Sequence[Episode],
    named: Iterable[str | None],
    tied: Ties,
) -> list[Cause]:
    """One cause per entry that makes a difference only together with others.

    bare: episodes without a cause, named: entries that have one already
    """
    grouped: dict[str, list[Acting]] = {}
    for number, finding in enumerate(findings):
        here = [(e.first, e.last) for e in bare if e.log == number and e.about == "delivery"]
        rows = rows_of(here, finding.book.times.size)
        for entry in finding.ledger.entries:
            where = acting(finding, entry, among=rows)
            if where is not None and entry.correction not in named:
                grouped.setdefault(entry.correction, []).append(where)
    return [_entry_cause(name, where, tied) for name, where in grouped.items()]


def _entry_cause(name: str, where: Sequence[Acting], tied: Ties) -> Cause:
    laid = where[0].finding.laid
    kind, revision, correction = _kind(name, where[0])
    posted = np.concatenate([w.entry.values[w.rows] for w in where])
    degrees, seconds = float(posted.mean()), sum(w.seconds for w in where)
    expected = all(w.entry.expected is not None for w in where)
    raises = any(w.raised.any() for w in where)
    having = _having(where, tied)
    sure = min(certainty(where), round(tied.share(where[0].entry, having), 2))
    told = Told(
        kind=kind,
        name=correction.called if correction else says.ENTRY_NAMES.get(name, name),
        degrees=degrees,
        seconds=seconds,
        peak=float(posted[np.abs(posted).argmax()]),
        span=(float(posted.min()), float(posted.max())),
        objection=None if expected else _objection(correction, where),
        revision=_called(kind, revision, where[0]),
        alike=tuple(label(laid[i], laid) for i in having if i) if kind == "other revision" else (),
        supplied=label(laid[0], laid) if laid else None,
        otherwise=kind == "other revision" and _has(laid[0], name),
        left_open=kind == "other revision" and _leaves_open(laid[0], name),
        switched_off=correction is not None and kind != "other revision" and not correction.enabled,
        reason=correction.reason if correction else None,
        channel=where[0].entry.channel,
        expected=where[0].entry.expected if expected else None,
        raises=raises,
        understood=sure >= SURE,
        load_told=any(load_told(w.finding, w.raised) for w in where),
    )
    return Cause(
        rank=0,
        kind=kind,
        correction=None if name in (LIMIT, OTHER_MAP) else name,
        revision=revision,
        channel=where[0].entry.channel,
        degrees=degrees,
        seconds=seconds,
        certainty=sure,
        expected=expected,
        says=says.cause(told),
        next_step=nextstep.next_step(told),
        evidence=tuple(_evidence(correction, where)),
        rule=_rule(kind, correction, where[0].finding),
        raises_under_load=raises,
        entry=name,
        file=where[0].entry.file,
        alike=told.alike,
        span=told.span if says.both_ways(told.span) else None,
    )


def _having(where: Sequence[Acting], tied: Ties) -> tuple[int, ...]:
    """The tied sheets that post the same wherever it acts."""
    each = [set(tied.having(w.entry, w.finding)) for w in where]
    return tuple(sorted(set.intersection(*each)))


def _rule(kind: Kind, correction: Correction | None, finding: Finding) -> Rule | None:
    """What acts although the sheet has it switched off, as a rule that another log can be held
    against."""
    if correction is None or kind != "correction" or correction.enabled:
        return None
    return as_rule(correction, finding.book)


def _kind(name: str, where: Acting) -> tuple[Kind, str | None, Correction | None]:
    """Whose correction it is: the first sheet's where that has it alike and switched on."""
    laid = where.finding.laid
    if not laid:
        return "unknown", None, None
    first, owner = laid[0], _owner(where)
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


def _owner(where: Acting) -> LaidSheet:
    """The sheet that a posting comes from, by its file: revisions may share a name."""
    laid = where.finding.laid
    chosen = where.finding.account.sheet or laid[0]
    return next((sheet for sheet in laid if sheet.file == where.entry.file), chosen)


def _called(kind: Kind, revision: str | None, where: Acting) -> str | None:
    """What the sentence calls the revision: with its file, where another bears the same name."""
    laid = where.finding.laid
    sheet = _owner(where) if laid and kind == "other revision" else next(iter(laid), None)
    return label(sheet, laid) if sheet and sheet.revision == revision else revision


def _has(sheet: LaidSheet, name: str) -> bool:
    """Whether a sheet lists a correction, switched on, whatever its numbers."""
    correction = sheet.correction(name)
    return correction is not None and correction.enabled


def _leaves_open(sheet: LaidSheet, name: str) -> bool:
    """Whether a sheet has "?" among the numbers of a correction."""
    correction = sheet.correction(name)
    return (
        correction is not None and correction.has_numbers and bool(np.isnan(correction.grid).any())
    )


def _evidence(correction: Correction | None, where: Sequence[Acting]) -> Iterator[Point]:
    right = float(np.average([w.right for w in where], weights=[w.rows.sum() for w in where]))
    yield Point("for" if right >= 0.9 else "against", sum_comes_out(right))
    channel = where[0].entry.channel
    if channel:
        yield Point("for", f"the channel {channel} carries it", channel)
    if correction is not None:
        yield from conditions_seen(correction, where[0].finding.book)


def ranked(causes: Iterable[Cause]) -> tuple[Cause, ...]:
    """Causes in the contract's order, numbered from 1."""
    order = sorted(
        causes, key=lambda c: (not c.raises_under_load, c.expected, -abs(c.degrees) * c.seconds)
    )
    return tuple(replace(cause, rank=rank) for rank, cause in enumerate(order, start=1))


def _objection(correction: Correction | None, where: Sequence[Acting]) -> Objection | None:
    """What speaks against a governor's work being ordinary, where the first sheet has it."""
    if correction is None or correction.reason != "idle speed" or not correction.enabled:
        return None
    parts = (
        (w.finding.book, part)
        for w in where
        for part in w.finding.account.parts
        if part.correction == correction.id
    )
    return next((found for book, part in parts if (found := objection(book, part))), None)
