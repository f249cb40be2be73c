"""Whether two drives look like those of one car: asked where the logs themselves speak against it.

Nothing is refused: a gearbox may have been changed, or a logger. But a proof over two cars proves
nothing, and nobody notices once the files are named alike.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.change.visited import Drive, each
from tuneledger.wording import count, number, quantity, sentence

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


def doubts(first: Sequence[Drive | None], second: Sequence[Drive | None]) -> tuple[str, ...]:
    """What speaks against one car, a clause each; none where nothing does."""
    before, after = [d for _, d in each(first)], [d for _, d in each(second)]
    if not before or not after:
        return ()
    return (*_gearing(before, after), *_pressure(before, after), *_names(before, after))


def _gearing(before: Sequence[Drive], after: Sequence[Drive]) -> Iterator[str]:
    old, new = _ratios(before), _ratios(after)
    apart = [
        gear for gear in sorted(set(old) & set(new)) if abs(new[gear] / old[gear] - 1.0) > _GEARING
    ]
    if apart:
        gear = apart[0]
        yield (
            f"in gear {number(gear)} the engine turns {number(old[gear], 3)} rpm per km/h before "
            f"and {number(new[gear], 3)} after"
        )


def _ratios(drives: Sequence[Drive]) -> dict[float, float]:
    """Gear → engine speed over road speed, rpm per km/h, where it is steady enough to be one."""
    found: dict[float, list[FloatArray]] = {}
    for drive in drives:
        gear = drive.inputs.signal("gear", None)
        speed = drive.inputs.signal("engine speed", "rpm")
        road = drive.inputs.signal("vehicle speed", "km/h")
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


def _pressure(before: Sequence[Drive], after: Sequence[Drive]) -> Iterator[str]:
    old, new = _open_pressure(before), _open_pressure(after)
    if old is not None and new is not None and min(old, new) < _PRESSURE * max(old, new):
        yield (
            f"with the throttle open the manifold reaches {quantity(round(old), 'kPa')} before and "
            f"{quantity(round(new), 'kPa')} after"
        )


def _open_pressure(drives: Sequence[Drive]) -> float | None:
    """The pressure that an open throttle reaches, kPa; None where hardly anything shows it."""
    parts = []
    for drive in drives:
        pressure = drive.inputs.signal("manifold absolute pressure", "kPa")
        throttle = drive.inputs.signal("throttle position", "%")
        if pressure is not None and throttle is not None:
            parts.append(pressure[(throttle > _OPEN_PCT) & np.isfinite(pressure)])
    every = np.concatenate(parts) if parts else np.zeros(0)
    return float(np.percentile(every, 90)) if every.size >= _FEWEST_ROWS else None


def _names(before: Sequence[Drive], after: Sequence[Drive]) -> Iterator[str]:
    old, new = _channels(before), _channels(after)
    common = len(old & new)
    if common < _NAMES_IN_COMMON * min(len(old), len(new)):
        yield (
            f"the logs have {count(common, 'channel name')} in common, of {len(old)} before and "
            f"{len(new)} after"
        )


def _channels(drives: Sequence[Drive]) -> set[str]:
    return {c.name.casefold() for drive in drives for c in drive.account.log.channels}


def question(found: Sequence[str]) -> str:
    """The question, with what raises it; empty where nothing does."""
    return f"Are both drives of one car? {sentence('; '.join(found))}" if found else ""
