"""What was found beyond the sheets as causes, one per thing in however many logs."""

from collections.abc import Mapping, Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain import nextstep, rulewords, says
from tuneledger.explain.finding import Finding
from tuneledger.explain.guarding import guarding
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.listed import listed
from tuneledger.explain.misnamed import lacking
from tuneledger.explain.model import RATE, STILL, SURE, Cause, Cell
from tuneledger.explain.raised import load_told, raised_rows
from tuneledger.explain.sheets import LaidSheet, label
from tuneledger.explain.told import Told
from tuneledger.record import record
from tuneledger.wording import seconds as seconds_in_words

_LEAST_HIDDEN_S = 1.0

_LEAST_STILL_S = 0.3
# So sure at most that one of several rules is right.
_MOST_ONE_OF = 0.95
# Who adds as much back does more than half of it: judgement.
_MOSTLY = 0.5


@record(eq=False)
class _Found:
    """What one log shows of a thing beyond the sheets: its rows beyond tolerance, and degrees.

    even: the rows of the log in which nothing shows of it, since another entry takes or adds as
          much back
    """

    finding: Finding
    extra: Extra
    values: FloatArray
    raised: BoolArray
    even: BoolArray

    @property
    def hidden_s(self) -> float:
        return self.seconds * int(self.even.sum()) / max(self.values.size, 1)

    @property
    def seconds(self) -> float:
        book = self.finding.book
        return float(self.values.size) * book.row_s / max(float(book.own.mean()), 1e-9)


def extra_causes(findings: Sequence[Finding]) -> list[Cause]:
    """One cause per thing that was found beyond the sheets, in however many logs."""
    grouped: dict[tuple[object, ...], list[_Found]] = {}
    for finding in findings:
        for extra in finding.extras:
            holds = extra.rule.hold and extra.rule.hold.effect if extra.rule else None
            key = (extra.kind, extra.entry, extra.correction, extra.objection, holds)
            grouped.setdefault(key, []).append(_found(finding, extra))
    return [_extra_cause(where) for where in grouped.values()]


def _found(finding: Finding, extra: Extra) -> _Found:
    book = finding.book
    values = extra.values if extra.values is not None else extra.shown
    values = _not_posted(finding) if values is None else values
    rows = book.judged & extra.rows & (np.abs(values) > book.tolerance)
    even = np.abs(book.delivered - book.start) <= book.tolerance
    even &= rows & (np.abs(values) > 2 * book.tolerance)
    return _Found(finding, extra, values[rows], raised_rows(finding, values, rows), even)


def _extra_cause(where: Sequence[_Found]) -> Cause:
    most = max(where, key=lambda one: one.values.size)
    extra = most.extra
    told = _told(where, most)
    return Cause(
        rank=0,
        kind=extra.kind,
        correction=extra.correction,
        revision=extra.revision,
        channel=extra.channel,
        degrees=told.degrees,
        seconds=told.seconds,
        certainty=_certainty(where),
        expected=all(one.extra.expected is not None for one in where),
        says=says.cause(told),
        next_step=nextstep.next_step(told),
        evidence=extra.points,
        rule=extra.rule,
        cells=extra.cells,
        alternatives=extra.alternatives,
        raises_under_load=told.raises,
        entry=extra.entry,
        span=told.span if says.both_ways(told.span) else None,
    )


def _told(where: Sequence[_Found], most: _Found) -> Told:
    """What is to be said of it; `most`: the log that shows most of it."""
    finding, extra = most.finding, most.extra
    values = np.concatenate([one.values for one in where])
    degrees = float(values.mean()) if values.size else 0.0
    sheet = finding.account.sheet
    correction = sheet.correction(extra.correction) if sheet and extra.correction else None
    units = {channel.name: channel.unit for channel in finding.book.log.channels}
    needs = [need for one in where for need in one.extra.needs]
    is_open = extra.shown is not None and bool(extra.cells)
    missing = tuple(dict.fromkeys(need.what for need in needs)) if extra.values is None else ()
    return Told(
        kind=extra.kind,
        name=correction.called if correction else says.extra_name(extra),
        degrees=degrees,
        seconds=sum(one.seconds for one in where),
        peak=float(values[np.abs(values).argmax()]) if values.size else 0.0,
        span=_span(values),
        objection=extra.objection,
        revision=label(sheet, finding.laid) if sheet and extra.revision else extra.revision,
        supplied=label(finding.laid[0], finding.laid) if finding.laid else None,
        reason=correction.reason if correction else None,
        channel=extra.channel,
        expected=extra.expected,
        raises=any(bool(one.raised.any()) for one in where),
        load_told=any(load_told(one.finding, one.raised) for one in where),
        missing=missing,
        lacking=extra.lacking or (lacking(missing, finding.book.roles) if missing else ""),
        rivals=_called(extra.rivals, sheet),
        open_at=rulewords.cells_at(correction, extra.cells) if correction and is_open else "",
        shows=_shown_in(extra.cells) if is_open else None,
        rewritten=extra.rule is not None and extra.correction is not None,
        rule=_told_rule(extra, units, _taken_back(where, degrees)),
        still=_delivered(finding) if extra.entry == STILL else "",
        guarding=guarding(extra, finding) if degrees < 0 else (),
        stands=_stands(finding, extra) if len(where) == 1 else None,
        table=extra.table,
        throughout=_throughout(extra),
        rate=extra.entry == RATE,
        listed=listed(finding, extra) if extra.kind == "hidden rule" else "",
    )


def _called(names: Sequence[str], sheet: LaidSheet | None) -> tuple[str, ...]:
    """What a sheet calls its corrections."""
    found = (sheet.correction(name) for name in names) if sheet else ()
    return tuple(one.called for one in found if one is not None)


def _certainty(where: Sequence[_Found]) -> float:
    """Of several logs the mean, by how much each shows of it."""
    if len(where) == 1:
        return where[0].extra.certainty
    shown = [max(one.values.size, 1) for one in where]
    return round(float(np.average([o.extra.certainty for o in where], weights=shown)), 2)


def _span(values: FloatArray) -> tuple[float, float] | None:
    return (float(values.min()), float(values.max())) if values.size else None


def _delivered(finding: Finding) -> str:
    return finding.book.roles.by_signal["delivered advance"].channel.name


def _stands(finding: Finding, extra: Extra) -> float | None:
    """The advance at which delivered stands wherever a fixed amount without a name acts; None where
    it moves. Where scheduled stood as still, an amount and a fixed advance look the same."""
    rule, book = extra.rule, finding.book
    if rule is None or rule.amount_deg is None or extra.correction or extra.name or extra.channel:
        return None
    here = book.delivered[book.judged & extra.rows]
    if here.size * book.row_s < _LEAST_STILL_S:
        return None
    low, high = np.percentile(here, [5.0, 95.0])
    return float(np.median(here)) if high - low <= book.tolerance else None


def _throughout(extra: Extra) -> bool:
    """Whether it is one amount all through, and nothing else says what it is."""
    named = extra.correction or extra.name or extra.channel or extra.expected
    rule = extra.rule
    return not named and rule is not None and not rule.when and rule.amount_deg is not None


def _told_rule(extra: Extra, units: Mapping[str, str], taken_back: str) -> str:
    """The rule of something that has no other name: it is all that one can look for."""
    named = extra.correction or extra.name or extra.channel or extra.expected
    if extra.rule is None or (named and not (extra.rule.hold and extra.rule.when)):
        return ""
    others = extra.alternatives if extra.certainty < SURE else ()
    one_of = rulewords.one_of_them(extra.rule, others, _one_of_them(extra))
    return rulewords.rule_in_words(extra.rule, others, units) + one_of + taken_back


def _one_of_them(extra: Extra) -> float | None:
    """How sure it is that the rule, or one that fits equally, is right; None where that is no more
    than what is said of the rule, or not sure either."""
    sure = min(_MOST_ONE_OF, extra.certainty / extra.among) if extra.among > 0 else 0.0
    return sure if extra.certainty < SURE <= sure else None


def _taken_back(where: Sequence[_Found], degrees: float) -> str:
    """For how long nothing shows of a rule that acts, since another entry cancels it."""
    lasts = sum(one.hidden_s for one in where if one.extra.kind == "hidden rule")
    if lasts < _LEAST_HIDDEN_S:
        return ""
    most = max(where, key=lambda one: one.hidden_s)
    who = _cancels(most, degrees)
    back = "takes as much back" if degrees > 0 else "adds as much back"
    shows = f"{who} {back}" if who else "nothing shows"
    return f", and for {seconds_in_words(lasts)} of it {shows}"


def _cancels(one: _Found, degrees: float) -> str:
    """What posts most against a rule in the rows in which nothing shows of it; empty where it is
    too little to hide the rule."""
    against = {
        entry.correction: float(-np.sign(degrees) * np.nan_to_num(entry.values[one.even]).mean())
        for entry in one.finding.ledger.entries
        if entry.correction != one.extra.entry
    }
    name = max(against, key=lambda each: against[each], default="")
    if against.get(name, 0.0) < _MOSTLY * abs(degrees):
        return ""
    found = next((c for sheet in one.finding.laid if (c := sheet.correction(name))), None)
    return found.called if found else says.ENTRY_NAMES.get(name, "another rule")


def _shown_in(cells: Sequence[Cell]) -> tuple[float, float]:
    numbers = [cell.difference_deg for cell in cells]
    return min(numbers), max(numbers)


def _not_posted(finding: Finding) -> FloatArray:
    """What delivered departs by, less everything that is posted: what a suspect may have taken."""
    out = finding.book.delivered - finding.book.start
    for entry in finding.ledger.entries:
        out = out - np.nan_to_num(entry.values)
    return out
