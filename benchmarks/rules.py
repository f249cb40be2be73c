"""A rule carried out on a drive, sample by sample, as CONTRACT section 2 words it.

Slow and plain on purpose, and sharing nothing with the package's evaluation: what judges a rule
must not err where the rule's finder errs.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np

from benchmarks.truth import Drive
from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.units import convert

SWITCH_ON = 0.5


class RuleError(Exception):
    """A rule that cannot be carried out on this drive; the message says why."""


def contribution(rule: Mapping[str, Any], drive: Drive) -> FloatArray:
    """What a rule posts on a drive, in degrees per sample; 0 where it does not act."""
    active = np.ones(drive.times.shape, dtype=bool)
    for part in rule.get("when") or ():
        active &= holds(part, drive)
    if rule.get("along") is not None:
        along = rule["along"]
        at, deg = along["at"], along["deg"]
        where = reading(along, drive)
        values = np.interp(np.nan_to_num(where), at, deg)
        active &= np.isfinite(where)
    elif rule.get("amount_deg") is not None:
        values = np.full(drive.times.shape, float(rule["amount_deg"]))
    else:
        raise RuleError("the rule has neither amount_deg nor along")
    target = np.where(active, values, 0.0)
    return target if rule.get("ramp") is None else _ramped(target, drive.times, rule["ramp"])


def holds(part: Mapping[str, Any], drive: Drive) -> BoolArray:
    """Where a condition is true; false where its reading is missing."""
    if "any" in part:
        out = np.zeros(drive.times.shape, dtype=bool)
        for one in part["any"]:
            out |= holds(one, drive)
        return out
    if "correction" in part:
        raise RuleError("the rule asks for another correction's state")
    raw = _compared(part, reading(part, drive))
    return _with_memory(raw, drive.times, part.get("held", 0.0), part.get("linger", 0.0))


def reading(part: Mapping[str, Any], drive: Drive) -> FloatArray:
    """A reading in its unit; NaN where missing, or before a `since` has ever begun."""
    if part.get("since") is not None:
        return _since(holds(part["since"], drive), drive.times)
    if part.get("channel") is None:
        raise RuleError(f"the rule reads {part.get('signal')!r}, which is not a channel's name")
    values = _column(part["channel"], part.get("unit"), drive)
    if part.get("minus") is not None:
        values = values - _column(part["minus"], part.get("unit"), drive)
    if part.get("over") is not None:
        with np.errstate(divide="ignore", invalid="ignore"):
            values = values / _column(part["over"], None, drive)
        values[~np.isfinite(values)] = np.nan
    if part.get("rate") is not None:
        span = float(part["rate"])
        before = np.interp(drive.times - span, drive.times, values, left=np.nan)
        values = (values - before) / span
    return values


def _column(name: str, unit: str | None, drive: Drive) -> FloatArray:
    try:
        own = drive.find(name)
    except KeyError:
        raise RuleError(f"the other drive does not log {name!r}") from None
    values, has = drive.channels[own], drive.units[own]
    if not unit or not has or unit == has:
        return values
    try:
        return convert(values, has, unit)
    except ValueError as fault:
        raise RuleError(f"{name!r} is logged in {has}, the rule reads it in {unit}") from fault


def _compared(part: Mapping[str, Any], values: FloatArray) -> BoolArray:
    known: BoolArray = np.isfinite(values)
    if part.get("is") is not None:
        wanted = part["is"]
        if wanted in ("on", "off"):
            on: BoolArray = values >= SWITCH_ON
            return known & (on if wanted == "on" else ~on)
        same: BoolArray = np.abs(values - float(wanted)) < 1e-9
        return known & same
    if part.get("between") is not None:
        low, high = part["between"]
        inside: BoolArray = (values >= low) & (values <= high)
        return known & inside
    sign = 1.0 if part.get("above") is not None else -1.0
    threshold = part["above"] if sign > 0 else part.get("below")
    if threshold is None:
        raise RuleError("a condition of the rule compares with nothing")
    beyond: BoolArray = sign * values > sign * threshold
    beyond &= known
    if part.get("release") is None:
        return beyond
    stays: BoolArray = sign * values >= sign * part["release"]
    return _hysteresis(beyond, known & stays)


def _hysteresis(on: BoolArray, stays: BoolArray) -> BoolArray:
    out, state = np.zeros(on.shape, dtype=bool), False
    for index in range(on.size):
        state = bool(on[index]) or (state and bool(stays[index]))
        out[index] = state
    return out


def _with_memory(raw: BoolArray, times: FloatArray, held: float, linger: float) -> BoolArray:
    """`held`: true for that long first. `linger`: true for that long after."""
    out, began, ended = np.zeros(raw.shape, dtype=bool), None, None
    for index, time in enumerate(times):
        began = (time if began is None else began) if raw[index] else None
        true = began is not None and time - began >= held - 1e-9
        if true:
            ended = time
        lingers = ended is not None and time - ended <= linger - 1e-9
        out[index] = true or (linger > 0 and lingers)
    return out


def _since(state: BoolArray, times: FloatArray) -> FloatArray:
    """Seconds since a condition last turned true; what is true at first has not turned true."""
    out, began = np.full(times.shape, np.nan), np.nan
    for index in range(1, times.size):
        if state[index] and not state[index - 1]:
            began = times[index]
        out[index] = times[index] - began
    return out


def _ramped(target: FloatArray, times: FloatArray, ramp: float | Mapping[str, float]) -> FloatArray:
    """A target followed at no more than so many degrees per second, from the first target on."""
    down, up = (ramp["down"], ramp["up"]) if isinstance(ramp, Mapping) else (ramp, ramp)
    out = target.copy()
    for index in range(1, target.size):
        step = times[index] - times[index - 1]
        change = target[index] - out[index - 1]
        out[index] = out[index - 1] + min(max(change, -down * step), up * step)
    return out
