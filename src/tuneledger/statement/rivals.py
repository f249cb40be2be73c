"""Rules that fit a log as well as the one told, in groups: what is the same is said once."""

from collections.abc import Mapping, Sequence
from typing import Any

from tuneledger.explain.model import Cause, Rule
from tuneledger.phrases import acting
from tuneledger.statement import words
from tuneledger.wording import count, degrees, listing, quantity

# Of conditions that a rule may have besides, so many are named.
_MOST_BESIDES = 3


def groups(cause: Cause, units: Mapping[str, str]) -> list[str]:
    """A phrase per rule that reads something else, most plausible first; then one for all that go
    on where the curve told ends, and one for all that have one condition more.

    units: channel → unit
    """
    told = cause.rule
    if told is None:
        return [words.rule(rule, dict(units)) for rule in cause.alternatives]
    further = [rule for rule in cause.alternatives if _goes_on(rule, told)]
    longer = [rule for rule in cause.alternatives if rule not in further and _adds(rule, told)]
    out = [
        words.rule(rule, dict(units))
        for rule in cause.alternatives
        if rule not in further and rule not in longer
    ]
    out += [_going_on(further, told, units)] if further else []
    return out + ([_longer(longer, told, units)] if longer else [])


def _goes_on(rule: Rule, told: Rule) -> bool:
    """Whether it is the same curve, and more of it."""
    if rule.along is None or told.along is None or rule.when != told.when:
        return False
    same = rule.along.channel == told.along.channel
    return same and set(zip(told.along.at, told.along.deg, strict=True)) < set(
        zip(rule.along.at, rule.along.deg, strict=True)
    )


def _adds(rule: Rule, told: Rule) -> bool:
    """Whether it is the same rule with one condition more, wherever that stands among them."""
    along = rule.along.channel if rule.along else None
    same = along == (told.along.channel if told.along else None) and rule.ramp == told.ramp
    return (
        same
        and len(rule.when) == len(told.when) + 1
        and len(_further(rule, told)) == 1
        and all(one in rule.when for one in told.when)
    )


def _further(rule: Rule, told: Rule) -> list[Mapping[str, Any]]:
    """Its conditions that the rule told has not."""
    return [one for one in rule.when if one not in told.when]


def _going_on(further: Sequence[Rule], told: Rule, units: Mapping[str, str]) -> str:
    """`the same, and above 23 m/s on to −9.6° or −13.9°`"""
    curve, unit = told.along, units.get(told.along.channel, "") if told.along else ""
    assert curve is not None  # it goes on
    above = [one.along for one in further if one.along and one.along.at[-1] > curve.at[-1]]
    below = [one.along for one in further if one.along and one.along.at[0] < curve.at[0]]
    parts = []
    if above:
        ends = listing(dict.fromkeys(degrees(one.deg[-1]) for one in above), "or")
        parts.append(f"above {quantity(curve.at[-1], unit)} on to {ends}")
    if below:
        ends = listing(dict.fromkeys(degrees(one.deg[0]) for one in below), "or")
        parts.append(f"below {quantity(curve.at[0], unit)} on to {ends}")
    return f"the same, and {listing(parts)}"


def _longer(longer: Sequence[Rule], told: Rule, units: Mapping[str, str]) -> str:
    """`the same, but only while Fan is 1, or while Oil pressure is above 3 bar`"""
    said = [acting(_further(rule, told), units) for rule in longer[:_MOST_BESIDES]]
    if len(longer) > _MOST_BESIDES:
        left = len(longer) - _MOST_BESIDES
        others = "another condition" if left == 1 else f"one of {count(left, 'other condition')}"
        said.append(f"while {others} holds")
    return f"the same, but only {listing(said, 'or')}"
