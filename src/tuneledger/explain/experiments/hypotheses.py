"""What the explanations that remain read, and at which numbers they change their mind."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.model import Cause, Rule
from tuneledger.record import record

MOST_RULES = 7  # their combinations double with each
# Neither is a rule ruled out nor certain before the drive that is to tell: judgement.
_LEAST_SURE, _SUREST = 0.05, 0.9
# Of the rules that do as well, each is this much less plausible than the one before.
_FALLS = 0.85


@record
class Seen:
    """What is known of one channel: numbers that matter, and whether a time counts from it."""

    cuts: frozenset[float]
    timed: bool


def rules_of(cause: Cause) -> tuple[Rule, ...]:
    """The cause's rule and those that do as well, most plausible first."""
    return () if cause.rule is None else (cause.rule, *cause.alternatives)[:MOST_RULES]


def prior_of(cause: Cause, count: int) -> FloatArray:
    """How likely each of the rules is, given that one of them is right."""
    first = float(np.clip(cause.certainty, max(1.0 / count, _LEAST_SURE), _SUREST))
    rest = _FALLS ** np.arange(count - 1)
    prior: FloatArray = np.concatenate(([first], (1.0 - first) * rest / rest.sum()))
    return prior


def seen_channels(rules: Iterable[Rule]) -> dict[str, Seen]:
    """Channel → what the rules make of it, in the order in which they read them."""
    cuts: dict[str, set[float]] = {}
    timed: set[str] = set()
    for rule in rules:
        for terms, counts in _comparisons(rule.when):
            name = str(terms.get("channel", ""))
            if not name:
                continue
            cuts.setdefault(name, set()).update(_numbers(terms))
            if counts:
                timed.add(name)
        if rule.along is not None:
            cuts.setdefault(rule.along.channel, set()).update(rule.along.at)
    return {name: Seen(frozenset(numbers), name in timed) for name, numbers in cuts.items()}


def channels_of(rule: Rule) -> list[str]:
    """The channels that a rule reads, each once."""
    return list(seen_channels([rule]))


def _comparisons(
    when: Sequence[Mapping[str, Any]], timed: bool = False
) -> Iterator[tuple[Mapping[str, Any], bool]]:
    for terms in when:
        if "since" in terms:
            yield from _comparisons([terms["since"]], True)
        elif "any" in terms:
            yield from _comparisons(terms["any"], timed)
        else:
            yield terms, timed or bool(terms.get("held") or terms.get("linger"))


def _numbers(terms: Mapping[str, Any]) -> Iterator[float]:
    for key in ("above", "below", "release"):
        if terms.get(key) is not None:
            yield float(terms[key])
    if "between" in terms:
        yield from (float(x) for x in terms["between"])
