"""Several logs of one car: what one log shows must hold on the others, and is told once.

Each log is explained by itself first. A rule found in one is then carried out over all of them: of
the rule and those that its log could not tell from it, the one stands that leaves least over all
logs together. Where it takes the place of rules found elsewhere, that is one rule, fitted on all.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.evaluate.model import Evidence
from tuneledger.explain.alike import named_alike
from tuneledger.explain.carry import posted_by
from tuneledger.explain.finding import Finding, posted_anew
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.model import Point, Rule
from tuneledger.record import record
from tuneledger.wording import count

_MOST_TRIED = 5  # each is carried out on every log
# A rule of another log speaks for the same thing where it acts in this share of its rows.
_OVERLAP = 0.5
# Rules within so many nats over all logs cannot be told apart by them.
_TIED = 5.0
_MOST_CERTAIN = 0.98  # no number of logs makes it certain: judgement
# What a rule is still worth that another log of the same car contradicts.
_CONTRADICTED = 0.5


@record(eq=False)
class _Carried:
    """A rule over all logs: the findings with it in place, and their cost together.

    acts: the logs in which it acts; replaced: extras per log that it takes the place of
    """

    rule: Rule
    findings: tuple[Finding, ...]
    acts: tuple[int, ...]
    replaced: tuple[tuple[Extra, ...], ...]
    cost: float


def together(findings: Sequence[Finding]) -> list[Finding]:
    """The findings with every rule held against all logs, and what is alike named alike."""
    if len(findings) < 2:
        return list(findings)
    held = list(findings)
    done: set[str] = set()
    while (one := _next_rule(held, done)) is not None:
        log, extra = one
        held = _held_against_all(held, log, extra)
        done |= {repr(e.rule) for f in held for e in f.extras if repr(e.rule) == repr(extra.rule)}
        done.add(repr(extra.rule))
    return named_alike(held)


def _next_rule(findings: Sequence[Finding], done: set[str]) -> tuple[int, Extra] | None:
    """The rule that is surest among those that were not yet looked at."""
    open_ = [
        (number, extra)
        for number, finding in enumerate(findings)
        for extra in finding.extras
        if _is_rule(extra) and repr(extra.rule) not in done
    ]
    return max(open_, key=lambda one: one[1].certainty, default=None)


def _is_rule(extra: Extra) -> bool:
    """A rule that was read out of a log: neither carried by a channel nor the idle governor."""
    return (
        extra.rule is not None
        and extra.values is not None
        and extra.evidence is Evidence.INFERRED
        and extra.expected is None
    )


def _held_against_all(findings: list[Finding], log: int, extra: Extra) -> list[Finding]:
    assert extra.rule is not None
    tried = [
        carried
        for rule in (extra.rule, *extra.alternatives[: _MOST_TRIED - 1])
        if (carried := _carried(findings, log, extra, rule)) is not None
    ]
    before = sum(finding.cost for finding in findings)
    best = min(tried, key=lambda c: c.cost, default=None)
    if best is None or best.cost > before:
        if best is not None and _speaks_against(findings, tried[0], log, extra):
            return _contradicted(findings, log, extra)
        return findings
    if len(best.acts) < 2 and best.rule is extra.rule:
        return findings
    tied = [c.rule for c in tried if c is not best and c.cost <= best.cost + _TIED]
    return _settled(best, extra, tied)


def _speaks_against(findings: Sequence[Finding], carried: _Carried, log: int, extra: Extra) -> bool:
    """Whether a log that ran the same sheets has no room for the rule.

    With another revision what no sheet lists may have been changed as well.
    """
    ran = [{stretch.sheet for stretch in finding.stretches} for finding in findings]
    same = [number for number, sheets in enumerate(ran) if sheets == ran[log]]
    before = sum(findings[number].cost for number in same)
    return sum(carried.findings[number].cost for number in same) > before + extra.price


def _carried(findings: Sequence[Finding], log: int, extra: Extra, rule: Rule) -> _Carried | None:
    """The rule in place of the extra, and of what speaks for the same in other logs."""
    posted: list[FloatArray | None] = []
    for number, finding in enumerate(findings):
        own = number == log and rule is extra.rule
        posted.append(extra.values if own else posted_by(rule, finding.book.inputs))
    if posted[log] is None:
        return None
    rule, posted = _fitted(findings, rule, posted, log, extra)
    changed, acts, replaced = [], [], []
    for number, (finding, values) in enumerate(zip(findings, posted, strict=True)):
        mine = _same_thing(finding, values, extra if number == log else None)
        kept = [e for e in finding.extras if e not in mine]
        if values is not None and _acting(finding, values).any():
            acts.append(number)
            kept.append(_copy(finding, extra, rule, values, mine, first=number == log))
        replaced.append(tuple(mine))
        changed.append(posted_anew(finding, kept))
    cost = sum(finding.cost for finding in changed)
    return _Carried(rule, tuple(changed), tuple(acts), tuple(replaced), cost)


def _fitted(
    findings: Sequence[Finding],
    rule: Rule,
    posted: Sequence[FloatArray | None],
    log: int,
    extra: Extra,
) -> tuple[Rule, list[FloatArray | None]]:
    """A rule of one level with the mean of what all logs show where it acts."""
    if rule.amount_deg is None or rule.ramp is not None:
        return rule, list(posted)
    amount, shown = rule.amount_deg, []
    for number, (finding, values) in enumerate(zip(findings, posted, strict=True)):
        if values is None:
            continue
        mine = _same_thing(finding, values, extra if number == log else None)
        replaced = sum(np.nan_to_num(e.values) for e in mine if e.values is not None)
        left = finding.account.left + replaced
        here = left[(np.abs(values) > 0) & np.isfinite(left)]
        shown.append(here[np.abs(here - amount) <= 2 * finding.book.tolerance])
    near = np.concatenate(shown) if shown else np.zeros(0)
    if near.size == 0:
        return rule, list(posted)
    level = float(near.mean())
    levelled = [None if v is None else np.where(np.abs(v) > 0, level, 0.0) for v in posted]
    return replace(rule, amount_deg=round(level, 2)), levelled


def _same_thing(finding: Finding, values: FloatArray | None, own: Extra | None) -> list[Extra]:
    """The extras of a log that a rule takes the place of: its own, or one in the same rows."""
    if own is not None:
        return [own]
    if values is None:
        return []
    acts = _acting(finding, values)
    out = []
    for extra in finding.extras:
        if not _is_rule(extra) or not extra.rows.any() or not acts.any():
            continue
        both = extra.rows & acts
        if not both.any() or extra.values is None:
            continue
        same_way = float(extra.values[both].mean()) * float(values[both].mean()) > 0
        if same_way and both.sum() >= _OVERLAP * min(extra.rows.sum(), acts.sum()):
            out.append(extra)
    return out


def _acting(finding: Finding, values: FloatArray) -> BoolArray:
    return np.asarray(finding.book.judged & (np.abs(values) > finding.book.tolerance))


def _copy(
    finding: Finding,
    extra: Extra,
    rule: Rule,
    values: FloatArray,
    mine: Sequence[Extra],
    *,
    first: bool,
) -> Extra:
    """The extra as this log has it: paid for once, in the log that it was found in."""
    return replace(
        extra,
        rule=rule,
        values=values,
        rows=_acting(finding, values),
        price=extra.price if first else 0.0,
        leeway=next((e.leeway for e in mine), None),
    )


def _settled(best: _Carried, extra: Extra, tied: Sequence[Rule]) -> list[Finding]:
    """The findings of the best rule, with its certainty and what still cannot be told from it."""
    found = [e.certainty for mine in best.replaced for e in mine] or [extra.certainty]
    certainty = min(_MOST_CERTAIN, 1.0 - float(np.prod([1.0 - c for c in found])))
    points = extra.points
    if len(best.acts) > 1:
        points = (*points, Point("for", f"it acts in {count(len(best.acts), 'log')} of the car"))
    if len(tied) < len(extra.alternatives):
        points = (*points, Point("for", "another log of the car speaks against its rivals"))

    def told(one: Extra) -> Extra:
        if one.rule is not best.rule:
            return one
        sure = round(certainty, 2)
        return replace(one, certainty=sure, among=1.0, alternatives=tuple(tied), points=points)

    return [posted_anew(f, [told(e) for e in f.extras]) for f in best.findings]


def _contradicted(findings: list[Finding], log: int, extra: Extra) -> list[Finding]:
    """The rule stays, as the best that its log gives, but another log speaks against it."""
    against = Point("against", "in another log of the car it should act where nothing is missing")
    weaker = replace(
        extra,
        certainty=round(extra.certainty * _CONTRADICTED, 2),
        points=(*extra.points, against),
    )
    out = list(findings)
    kept = [weaker if e is extra else e for e in findings[log].extras]
    out[log] = posted_anew(findings[log], kept)
    return out
