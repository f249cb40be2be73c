"""One correction of a sheet, carried out over all samples, before others act on it."""

from collections.abc import Mapping, Sequence
from weakref import WeakKeyDictionary

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, frozen
from tuneledger.calibrations.model import Correction, Table
from tuneledger.evaluate.conditions import all_hold, truth_of
from tuneledger.evaluate.lookup import look_up
from tuneledger.evaluate.memory import rate_limited
from tuneledger.evaluate.model import Contribution, Evidence, Inputs, Source
from tuneledger.evaluate.readings import NEVER, logged_degrees, missing_names, read
from tuneledger.evaluate.truth import Truth, all_of, kept, sure, unknown

SAME = 1e-9  # degrees between two ramps that have met

# Revisions share most of their tables, and one table is asked for under several conditions: what
# the last few gave over some inputs, until nobody holds those.
_MOST_KEPT = 24
_LOOKED_UP: WeakKeyDictionary[Inputs, dict[tuple[object, ...], FloatArray]] = WeakKeyDictionary()


def carry_out(
    correction: Correction, inputs: Inputs, active: Mapping[str, Truth], source: Source
) -> tuple[Contribution, Truth]:
    """A correction as if enabled, and the truth of its being active, for those that come later.

    active: truths of the corrections that stand earlier in the sheet

    One with neither table nor amount is known from the log alone: nowhere computable here. It is
    active where its conditions hold and the channel that carries it is not 0; without that channel
    it is not known where its conditions leave it open.
    """
    truth = _active(correction, inputs, active)
    if not correction.has_numbers:
        truth = all_of([truth, _carried(correction, inputs)], inputs.times.size)
        return _from_the_log_alone(correction, inputs, truth, source), truth
    value, never = table_values(correction, inputs, active)
    weight, weight_never = _weight(correction, inputs, active)
    truth = truth.without(never | weight_never)
    if correction.effect == "add":
        values = _added(correction, inputs.times, value, truth)
        computable = ~np.isnan(values)
    else:
        numbers = ~np.isnan(value) & ~np.isnan(weight)
        computable = ~truth.possible | (truth.certain & (numbers | (weight == 0.0)))
        values = value
    contribution = Contribution(
        correction=correction.id,
        effect=correction.effect,
        values=values,
        active=truth.certain & computable,
        computable=computable,
        weight=weight,
        evidence=Evidence.COMPUTED,
        source=source,
        missing=missing_names(correction, inputs),
        known=truth.known,
    )
    return contribution, truth


def table_values(
    table: Table, inputs: Inputs, active: Mapping[str, Truth]
) -> tuple[FloatArray, BoolArray]:
    """A table's value at every sample, NaN where it cannot be looked up, and where one of its axes
    is a `since` whose condition has never turned true: there the table contributes nothing."""
    if any(axis.since is not None for axis in table.axes):
        return _with_times_since(table, inputs, active)
    known = _LOOKED_UP.setdefault(inputs, {})
    key = (table.axes, table.values, table.amount)
    values = known.get(key)
    if values is None:
        values = _looked_up(table, [read(axis, inputs, active) for axis in table.axes], inputs)
        frozen(values)
        while len(known) >= _MOST_KEPT:
            known.pop(next(iter(known)), None)
        known[key] = values
    return values, np.zeros(inputs.times.size, dtype=np.bool_)


def _with_times_since(
    table: Table, inputs: Inputs, active: Mapping[str, Truth]
) -> tuple[FloatArray, BoolArray]:
    never = np.zeros(inputs.times.size, dtype=np.bool_)
    columns = [read(axis, inputs, active) for axis in table.axes]
    for axis, column in zip(table.axes, columns, strict=True):
        if axis.since is not None and column is not None:
            never |= column == NEVER
    values = _looked_up(table, columns, inputs)
    values[never] = np.nan
    return values, never


def _looked_up(table: Table, columns: Sequence[FloatArray | None], inputs: Inputs) -> FloatArray:
    samples = inputs.times.size
    there = [column for column in columns if column is not None]
    if len(there) < len(columns):
        return np.full(samples, np.nan)
    return np.array(np.broadcast_to(look_up(table, there), samples))


def _active(correction: Correction, inputs: Inputs, active: Mapping[str, Truth]) -> Truth:
    """Its conditions, and its latch. Where `when` holds it is active, whatever `until` says.

    Whether something latched before the first sample is not known until `when` or `until` turns
    true. No log can decide it for "power off": its first sample counts as the power being put on.
    """
    truth = all_hold(correction.when, inputs, active)
    if correction.until is None:
        return truth
    if correction.until == "power off":
        return kept(truth, sure(np.zeros_like(truth.certain)), starts_off=True)
    return kept(truth, truth_of(correction.until, inputs, active))


def _weight(
    correction: Correction, inputs: Inputs, active: Mapping[str, Truth]
) -> tuple[FloatArray, BoolArray]:
    samples = inputs.times.size
    if correction.weight is None:
        return np.ones(samples), np.zeros(samples, dtype=np.bool_)
    return table_values(correction.weight, inputs, active)


def _added(
    correction: Correction, times: FloatArray, value: FloatArray, truth: Truth
) -> FloatArray:
    """The signed contribution of an `add`: 0 where not active, ramp included, NaN if not known."""
    target = np.where(truth.certain, value, np.where(truth.possible, np.nan, 0.0))
    if correction.ramps is None:
        return target
    down, up = correction.ramps.down, correction.ramps.up
    absent = np.isnan(target)
    if not absent.any():
        return rate_limited(target, times, down, up)
    # Whatever the target was where it is not known: the ramp lies between two that are.
    lowest, highest = _range(correction.grid)
    low = rate_limited(np.where(absent, lowest, target), times, down, up)
    high = rate_limited(np.where(absent, highest, target), times, down, up)
    decided = ~absent & (low > high - SAME)
    return np.where(decided, low, np.nan)


def _range(grid: FloatArray) -> tuple[float, float]:
    """What a contribution can be at the least and most, 0 (not active) included."""
    if np.isnan(grid).any():
        return -np.inf, np.inf
    return min(float(grid.min()), 0.0), max(float(grid.max()), 0.0)


def _carried(correction: Correction, inputs: Inputs) -> Truth:
    """Where the channel that carries a correction shows it at work."""
    logged = correction.logged_as
    values = None if logged is None else logged_degrees(logged, inputs)
    if values is None:
        return unknown(inputs.times.size)
    works = values != 0.0
    return Truth(works & ~np.isnan(values), works)


def _from_the_log_alone(
    correction: Correction, inputs: Inputs, truth: Truth, source: Source
) -> Contribution:
    samples = inputs.times.size
    nowhere = np.zeros(samples, dtype=np.bool_)
    return Contribution(
        correction=correction.id,
        effect=correction.effect,
        values=np.full(samples, np.nan),
        active=nowhere,
        computable=nowhere,
        weight=np.ones(samples),
        evidence=Evidence.LOGGED,
        source=source,
        known=truth.known,
    )
