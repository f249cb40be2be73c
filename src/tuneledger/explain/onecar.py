"""Whether logs look like those of one car: asked where they themselves speak against it.

Nothing is refused: a gearbox may have been changed, or a logger. But what is told of two cars
together is true of neither, and nobody notices once the files are named alike.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.evaluate.model import Inputs
from tuneledger.logs.model import Log
from tuneledger.wording import count, number, quantity

# Tyres wear and are changed by a few percent, loggers round: common practice, no source.
_GEARING = 0.08
_MOVING_KMH, _PULLING_RPM = 20.0, 1500.0
_FEWEST_ROWS = 20
# How far a gear's ratio may spread and still be one gear's: a slipping clutch spreads it.
_SPREAD = 0.1
# Manifold pressure at open throttle, as a share of the other's: with and without a turbocharger.
_PRESSURE = 0.7
_OPEN_PCT = 85.0
_NAMES_IN_COMMON = 1 / 3

# A log, and what it says of each signal.
Driven = tuple[Log, Inputs]


def doubts(
    first: Sequence[Driven], second: Sequence[Driven], called: tuple[str, str]
) -> Iterator[str]:
    """What speaks against one car, a clause each; none where nothing does.

    called: what is said behind the numbers of the one and of the other: `before`, `in run-2.csv`
    """
    if first and second:
        yield from _gearing(first, second, called)
        yield from _pressure(first, second, called)
        yield from _names(first, second, called)


def _gearing(
    first: Sequence[Driven], second: Sequence[Driven], called: tuple[str, str]
) -> Iterator[str]:
    old, new = _ratios(first), _ratios(second)
    apart = [
        gear for gear in sorted(set(old) & set(new)) if abs(new[gear] / old[gear] - 1.0) > _GEARING
    ]
    if apart:
        gear = apart[0]
        yield (
            f"in gear {number(gear)} the engine turns {number(old[gear], 3)} rpm per km/h "
            f"{called[0]} and {number(new[gear], 3)} {called[1]}"
        )


def _ratios(drives: Sequence[Driven]) -> dict[float, float]:
    """Gear → engine speed over road speed, rpm per km/h, where it is steady enough to be one."""
    found: dict[float, list[FloatArray]] = {}
    for _, inputs in drives:
        gear = inputs.signal("gear", None)
        speed = inputs.signal("engine speed", "rpm")
        road = inputs.signal("vehicle speed", "km/h")
        if gear is None or speed is None or road is None:
            continue
        rows = (road > _MOVING_KMH) & (speed > _PULLING_RPM) & (gear >= 1)
        for one in np.unique(gear[rows]):
            here = rows & (gear == one)
            found.setdefault(float(one), []).append(speed[here] / road[here])
    out = {}
    for gear_, parts in found.items():
        every = np.concatenate(parts)
        low, middle, high = np.percentile(every, (25, 50, 75))
        if every.size >= _FEWEST_ROWS and high - low < _SPREAD * middle:
            out[gear_] = float(middle)
    return out


def _pressure(
    first: Sequence[Driven], second: Sequence[Driven], called: tuple[str, str]
) -> Iterator[str]:
    old, new = _open_pressure(first), _open_pressure(second)
    if old is not None and new is not None and min(old, new) < _PRESSURE * max(old, new):
        yield (
            f"with the throttle open the manifold reaches {quantity(round(old), 'kPa')} "
            f"{called[0]} and {quantity(round(new), 'kPa')} {called[1]}"
        )


def _open_pressure(drives: Sequence[Driven]) -> float | None:
    """The pressure that an open throttle reaches, kPa; None where hardly anything shows it."""
    parts = []
    for _, inputs in drives:
        pressure = inputs.signal("manifold absolute pressure", "kPa")
        throttle = inputs.signal("throttle position", "%")
        if pressure is not None and throttle is not None:
            parts.append(pressure[(throttle > _OPEN_PCT) & np.isfinite(pressure)])
    every = np.concatenate(parts) if parts else np.zeros(0)
    return float(np.percentile(every, 90)) if every.size >= _FEWEST_ROWS else None


def _names(
    first: Sequence[Driven], second: Sequence[Driven], called: tuple[str, str]
) -> Iterator[str]:
    old, new = _channels(first), _channels(second)
    common = len(old & new)
    if common < _NAMES_IN_COMMON * min(len(old), len(new)):
        yield (
            f"the logs have {count(common, 'channel name')} in common, of {len(old)} {called[0]} "
            f"and {len(new)} {called[1]}"
        )


def _channels(drives: Sequence[Driven]) -> set[str]:
    return {channel.name.casefold() for log, _ in drives for channel in log.channels}
