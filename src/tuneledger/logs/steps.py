"""The step in which a channel counts: found from its numbers alone.

A channel comes as multiples of some step (0.25°, 0.75°, 1 rpm), often rounded once more when it is
written with few decimals: steps of 0.3516 print as 0.4, 0.7, 1.1. Both are recognised. Where a
channel is finer than its decimals, the step is what the decimals leave.
"""

import numpy as np
import numpy.ma  # medians and polars ask for it; by now a file is being read
import polars as pl

from tuneledger.arrays import FloatArray, IntArray

_MOST_DECIMALS = 6
# Fewer distinct values than this do not show that a wide common divisor is the step.
_FEW = 6
_USUAL = (1.0, 0.75, 0.5, 0.25, 0.2, 0.1, 0.05, 0.025, 0.02, 0.01)
# Samples off the grid that an export may have made (between two steps), and still it is the grid,
# where so many values are left on it that their common divisor is no chance.
_STRAY_SAMPLES, _FEWEST_KEPT = 0.03, 12
_FEWEST_FOR_FIT = 8
# Numbers that went through single precision are off by this share of their size.
_SINGLE = 1.2e-7


def quantisation_step(values: FloatArray) -> float | None:
    """The step of which the values are whole multiples apart, in the values' unit.

    NaN is left out; the grid may lie anywhere (0.5 k − 64). None where fewer than two values
    differ, or where the numbers lie on no grid at all.
    """
    distinct, counts = _distinct(values[np.isfinite(values)])
    if distinct.size < 2:
        return None
    places = _decimals(distinct)
    if places is None:
        return _fitted(distinct, 0.0)
    unit = 10.0**-places
    whole, index = np.unique(np.round(distinct / unit).astype(np.int64), return_inverse=True)
    often = np.bincount(index, weights=counts).astype(np.int64)
    divisor = _common(whole)
    if divisor == 1:
        divisor = _common(_without_strays(whole, often))
    if divisor == 1:
        return _fitted(np.asarray(whole * unit, dtype=np.float64), unit) or unit
    return _modest(divisor * unit, whole.size, unit)


def _distinct(values: FloatArray) -> tuple[FloatArray, IntArray]:
    """Each value once, rising, and how often it comes. By hashing: sorting all takes far longer."""
    value, count = (column.to_numpy() for column in pl.Series("value", values).value_counts())
    order = np.argsort(value)
    return value[order], count[order].astype(np.int64)


def _decimals(values: FloatArray) -> int | None:
    """The fewest decimals that write every value exactly, or None."""
    size = max(1.0, float(np.abs(values).max()))
    if size > 1e12:
        return None
    for places in range(_MOST_DECIMALS + 1):
        scaled = values * 10.0**places
        if np.abs(scaled - np.round(scaled)).max() <= 1e-9 * size * 10.0**places + 1e-9:
            return places
    return None


def _common(whole: IntArray) -> int:
    return int(np.gcd.reduce(np.diff(whole))) if whole.size > 1 else 1


def _without_strays(whole: IntArray, counts: IntArray) -> IntArray:
    """The values without the rarest ones, as far as those hold only few of the samples."""
    order = np.argsort(counts, kind="stable")
    seen = np.cumsum(counts[order])
    strays = int(np.searchsorted(seen, _STRAY_SAMPLES * seen[-1], side="right"))
    if whole.size - strays < _FEWEST_KEPT:
        return whole
    return np.sort(whole[order[strays:]])


def _modest(step: float, distinct: int, unit: float) -> float:
    """A step above 1 that only a few values speak for is taken down to a usual one."""
    if distinct >= _FEW or step <= 1.0:
        return step
    for usual in _USUAL:
        if usual >= unit and abs(step / usual - round(step / usual)) < 1e-9:
            return usual
    return step


def _fitted(distinct: FloatArray, unit: float) -> float | None:
    """A step that is no multiple of the last decimal: the grid that rounding to `unit` blurred.

    unit: half of it is how far a value may lie off the grid; 0 for numbers that are not rounded.
    """
    if distinct.size < _FEWEST_FOR_FIT:
        return None
    gaps = np.diff(distinct)
    first = float(gaps[gaps <= 1.5 * np.quantile(gaps, 0.2) + 1e-12].mean())
    if first < 1.6 * unit or first <= 0:
        return None
    slack = 0.55 * unit + _SINGLE * float(np.abs(distinct).max())
    number = np.concatenate([[0.0], np.cumsum(np.round(gaps / first))])
    if not number[-1] < 2.0**53:
        return None  # sizes so different that the grid is lost in rounding
    step = float(np.polyfit(number, distinct, 1)[0])
    step, off = _tightest(distinct, np.round((distinct - distinct[0]) / step), step, unit)
    chance = min(1.0, 2.0 * slack / step) ** (distinct.size - 2)
    if off > slack or chance > 0.01 or step < 1.6 * unit:
        return None
    return float(f"{step:.4g}")


def _tightest(
    values: FloatArray, number: FloatArray, about: float, unit: float
) -> tuple[float, float]:
    """(step, widest distance off the grid) of the step near `about` that leaves least.

    Rounding is bounded, not normal, so that the widest distance is made small, not the squares.
    """
    reach = 2.0 * unit / max(1.0, float(number[-1]))
    steps = about + np.linspace(-reach, reach, 81 if unit else 1)
    left = values[None, :] - steps[:, None] * number[None, :]
    off = np.ptp(left, axis=1) / 2.0
    best = int(off.argmin())
    return float(steps[best]), float(off[best])
