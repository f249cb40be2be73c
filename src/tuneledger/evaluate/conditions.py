"""Conditions: true, false or not known at every sample, with their memory."""

from collections.abc import Mapping, Sequence

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import AnyOf, Comparison, Condition, CorrectionActive
from tuneledger.evaluate.model import Inputs
from tuneledger.evaluate.readings import NEVER, read
from tuneledger.evaluate.truth import (
    Truth,
    all_of,
    any_of,
    held,
    kept,
    lingering,
    sure,
    unknown,
)

SWITCHED_ON = 0.5  # a switch is on from here up
SAME = 1e-9  # how far a reading may be from the number that it is to be


def holds(
    condition: Condition, inputs: Inputs, active: Mapping[str, BoolArray]
) -> tuple[BoolArray, BoolArray]:
    """Where a condition is true, and where that is known; true implies known.

    active: where each earlier correction of the sheet is active; empty for a rule read out of a
    log. A correction that is not in it makes the condition unknown.
    """
    truth = truth_of(condition, inputs, {name: sure(rows) for name, rows in active.items()})
    return truth.certain, truth.known


def all_hold(conditions: Sequence[Condition], inputs: Inputs, active: Mapping[str, Truth]) -> Truth:
    """A list of which all must be true; true everywhere if it is empty."""
    truths = [truth_of(condition, inputs, active) for condition in conditions]
    return all_of(truths, inputs.times.size)


def truth_of(condition: Condition, inputs: Inputs, active: Mapping[str, Truth]) -> Truth:
    """A condition's truth. In a comparison hysteresis comes first, then `held`, then `linger`.

    Not known: where a reading is missing; within a hysteresis band until the reading first leaves
    it; while something from before the first sample may linger.
    A `since` whose condition has never turned true makes a comparison false.
    """
    samples = inputs.times.size
    if isinstance(condition, AnyOf):
        return any_of([truth_of(c, inputs, active) for c in condition.any], samples)
    if isinstance(condition, CorrectionActive):
        return active.get(condition.correction, unknown(samples))
    values = read(condition, inputs, active)
    truth = unknown(samples) if values is None else _compared(condition, values)
    if condition.held is not None:
        truth = held(truth, inputs.times, condition.held)
    if condition.linger is not None:
        truth = lingering(truth, inputs.times, condition.linger)
    return truth


def _compared(c: Comparison, values: FloatArray) -> Truth:
    absent = np.isnan(values)
    hit = _hit(c, values)
    if c.since is not None:
        hit &= values != NEVER
    if c.release is None:
        return _truth(hit, absent)
    passed = values < c.release if c.above is not None else values > c.release
    if c.since is not None:
        passed |= values == NEVER
    return kept(_truth(hit, absent), _truth(passed, absent))


def _hit(c: Comparison, values: FloatArray) -> BoolArray:
    if c.above is not None:
        return values > c.above
    if c.below is not None:
        return values < c.below
    if c.between is not None:
        return (values >= c.between[0]) & (values <= c.between[1])
    if c.is_ == "on":
        return values >= SWITCHED_ON
    if c.is_ == "off":
        return values < SWITCHED_ON
    assert isinstance(c.is_, float | int)
    return np.abs(values - c.is_) <= SAME


def _truth(hit: BoolArray, absent: BoolArray) -> Truth:
    return Truth(hit, hit | absent) if absent.any() else sure(hit)
