"""Rules and points of tables in words."""

from collections.abc import Mapping, Sequence
from typing import Any

from tuneledger.calibrations.model import Table
from tuneledger.explain.model import Cell, Rule
from tuneledger.explain.reads import read_by_rule
from tuneledger.phrases import acting
from tuneledger.wording import count, few, listing, quantity, share

_MOST_CELLS = 3  # as many as a sentence bears


def rule_in_words(rule: Rule, others: Sequence[Rule], units: Mapping[str, str]) -> str:
    """`it follows Inlet temp while Throttle is above 55 %`: what to look for in the car.

    others: rules that this log cannot tell from it, where it is not sure: what all of them have is
            said first, and the rest as perhaps
    units:  channel → unit, for thresholds
    """
    shared = [one for one in rule.when if all(_has(other, one) for other in others)]
    curve = rule.along if rule.hold is None else None
    if curve is None and 0 < len(shared) < len(rule.when):
        rest = [one for one in rule.when if one not in shared]
        perhaps = acting(rest, units)
        return f"it acts {acting(shared, units)}, perhaps only {perhaps} (open as yet)"
    verb = f"follows {curve.channel}" if curve else "acts"
    when = acting(rule.when, units) or ("" if curve else "throughout")
    return f"it {verb} {when}".rstrip()


def one_of_them(rule: Rule, others: Sequence[Rule], sure: float | None) -> str:
    """`; which of Throttle and Load decides cannot be told from this log; that one of them does is
    95 % sure`: what is known of rules that fit equally, where that is more than of the first.

    sure: that one of them is right; None where there is nothing to say
    """
    if sure is None:
        return ""
    instead = (_in_place(rule, other) for other in others)
    names = dict.fromkeys(name for pair in instead if pair for name in pair)
    if not names:
        return f"; that it is this rule or one that fits equally is {share(sure)} sure"
    return (
        f"; which of {few(tuple(names))} decides cannot be told from this log; that one of them "
        f"does is {share(sure)} sure"
    )


def _in_place(rule: Rule, other: Rule) -> tuple[str, str] | None:
    """The channel that a rule reads, and the one that another reads in its place; None where more
    than that differs."""
    mine, theirs = read_by_rule(rule), read_by_rule(other)
    own, instead = [*(mine - theirs)], [*(theirs - mine)]
    return (own[0], instead[0]) if len(own) == len(instead) == 1 else None


def _has(rule: Rule, condition: Mapping[str, Any]) -> bool:
    """Whether a rule has the same condition, its number apart."""
    bare = {"above", "below"}
    return any(
        one.keys() == condition.keys()
        and all(one[key] == condition[key] for key in one.keys() - bare)
        for one in rule.when
    )


def cells_at(table: Table, cells: Sequence[Cell]) -> str:
    """`60 °C`, `150 kPa, 5000 rpm`: points of a table's axes, those that matter most first."""
    most = sorted(cells, key=lambda cell: -abs(cell.difference_deg) * cell.seconds)[:_MOST_CELLS]
    told = [
        ", ".join(quantity(x, axis.unit) for x, axis in zip(cell.at, table.axes, strict=True))
        for cell in most
    ]
    if len(cells) > len(most):
        told.append(count(len(cells) - len(most), "more cell"))
    return listing(told)
