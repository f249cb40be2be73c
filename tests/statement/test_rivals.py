"""Rules that fit as well are told in groups: what is the same is said once."""

from dataclasses import replace

from tests.statements_open import hidden_rule
from tuneledger.explain.model import Cause, Curve, Rule
from tuneledger.statement.rivals import groups

UNITS = {"Oil": "degC", "Fan": "", "Wet": ""}


def _cause(rule: Rule, *alternatives: Rule) -> Cause:
    return replace(hidden_rule().causes[0], rule=rule, alternatives=alternatives)


def test_conditions_that_a_rule_may_have_besides_are_one_phrase() -> None:
    wet = {"channel": "Wet", "is": 1}
    longer = [Rule((wet, {"channel": "Oil", "above": 70.0 + i}), -4.0) for i in range(5)]
    other = Rule(({"channel": "Fan", "is": 1},), -4.0)
    told = groups(_cause(Rule((wet,), -4.0), longer[0], other, *longer[1:]), UNITS)
    assert told == [
        "−4.0° while Fan is 1",
        "the same, but only while Oil is above 70 °C, while Oil is above 71 °C, while Oil is above "
        "72 °C or while one of 2 other conditions holds",
    ]

    assert groups(_cause(Rule((wet,), -4.0), *longer[:4]), UNITS) == [
        "the same, but only while Oil is above 70 °C, while Oil is above 71 °C, while Oil is above "
        "72 °C or while another condition holds",
    ]


def test_a_further_condition_is_told_wherever_it_stands_in_the_rule() -> None:
    wet, fan = {"channel": "Wet", "is": 1}, {"channel": "Fan", "is": 1}
    cause = _cause(Rule((wet,), -4.0), Rule((fan, wet), -4.0))
    assert groups(cause, UNITS) == ["the same, but only while Fan is 1"]


def test_ways_on_beyond_the_end_of_a_curve_are_one_phrase() -> None:
    curve = Curve("Oil", (70.0, 95.0), (0.0, -5.0))
    ways = [replace(curve, at=(*curve.at, 105.0), deg=(*curve.deg, deg)) for deg in (-6.0, -7.0)]
    cause = _cause(Rule((), None, curve), *(Rule((), None, way) for way in ways))
    assert groups(cause, UNITS) == ["the same, and above 95 °C on to −6.0° or −7.0°"]


def test_a_suspicion_without_a_rule_lists_every_rule_that_would_do() -> None:
    cause = replace(_cause(Rule((), -4.0), Rule(({"channel": "Fan", "is": 1},), -4.0)), rule=None)
    assert groups(cause, UNITS) == ["−4.0° while Fan is 1"]
