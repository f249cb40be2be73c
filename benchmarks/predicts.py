"""Whether the rules of a statement predict another drive of the same car."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from benchmarks.claims import mismatch
from benchmarks.rules import RuleError, contribution
from benchmarks.truth import Case
from tuneledger.arrays import FloatArray

RMS_DEG, WITHIN_DEG, SHARE = 0.5, 0.3, 0.95

Report = Mapping[str, Any]


def rules_told(case: Case, statement: Report) -> list[Report]:
    """The causes that tell the hidden rule, or a part of it: a hidden rule, or a cause of another
    kind that may rightly stand for it."""
    hidden = [true for true in case.truth["causes"] if true.get("rule")]
    return [
        cause
        for cause in statement["causes"]
        if cause.get("rule") is not None
        and (
            cause["kind"] == "hidden rule" or any(mismatch(cause, true) is None for true in hidden)
        )
    ]


def choices(given: Sequence[Report]) -> Iterator[list[Report]]:
    """The rules as they are, and with each one in turn replaced by each of its alternatives."""
    first = [one["rule"] for one in given]
    yield first
    for i, one in enumerate(given):
        for other in one.get("alternatives") or ():
            yield [*first[:i], other, *first[i + 1 :]]


def predicts(rules: Sequence[Report], case: Case) -> bool:
    """Whether rules, carried out together on the other drive, are right there."""
    try:
        return is_right(*figures(off(rules, case)))
    except RuleError:
        return False


def off(rules: Sequence[Report], case: Case) -> FloatArray:
    """By how much rules are off on the other drive, in degrees per sample. May raise RuleError."""
    drive, hidden = case.heldout
    told: FloatArray = np.sum([contribution(one, drive) for one in rules], axis=0)
    return told - hidden


def figures(missed: FloatArray) -> tuple[float, float]:
    """Rms in degrees, and the share of samples within 0.3 degrees."""
    return float(np.sqrt(np.mean(missed**2))), float(np.mean(np.abs(missed) <= WITHIN_DEG))


def is_right(rms: float, share: float) -> bool:
    """The measure of the contract's cases: within 0.5 degrees rms, or 95 % within 0.3."""
    return rms <= RMS_DEG or share >= SHARE
