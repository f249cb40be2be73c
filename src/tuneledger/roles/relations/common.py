"""What relations share: candidates at the same instants, and how alike two channels run."""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.roles.evidence import Evidence

_ROWS = 400
_FEWEST = 30
# What may be the same thing counted twice, and how likely each must be to count at all.
_SAME, _SOME, _MOST = 0.9, 0.03, 6
_CLEAR = 0.9


def thin_run(evidence: Evidence, channel: int, signal: str | None = None) -> FloatArray:
    """A channel's thin sample at `_ROWS` evenly spread instants; as a signal in its own unit.

    Thin samples are evenly spread over the run, so that one of another length (a channel of
    another raster) is brought to the same instants by its place in the run.
    """
    thin = evidence.facts[channel].thin
    if signal is not None:
        reading = evidence.readings.get((channel, signal))
        thin = thin * reading.scale + reading.offset if reading else thin
    if thin.size in (0, _ROWS):
        return thin if thin.size else np.full(_ROWS, np.nan)
    own = np.isfinite(thin)
    if own.sum() < 2:
        return np.full(_ROWS, np.nan)
    place = np.linspace(0.0, 1.0, thin.size)
    return np.interp(np.linspace(0.0, 1.0, _ROWS), place[own], thin[own])


def alike(one: FloatArray, other: FloatArray, where: BoolArray | None = None) -> float:
    """Correlation over the rows that both have; 0 where there are too few or one stands still."""
    own = np.isfinite(one) & np.isfinite(other)
    if where is not None:
        own &= where
    if own.sum() < _FEWEST:
        return 0.0
    a, b = one[own] - one[own].mean(), other[own] - other[own].mean()
    size = float(np.sqrt((a * a).sum() * (b * b).sum()))
    return float((a * b).sum()) / size if size > 0 else 0.0


def graded(value: float, low: float, high: float) -> float:
    """0 at `low` and below, 1 at `high` and above, straight between."""
    return float(np.clip((value - low) / (high - low), 0.0, 1.0))


def likeliest(evidence: Evidence, signal: str, least: float = 0.5) -> int | None:
    """The channel that most likely is a signal, where that is likely enough to build on."""
    found = evidence.candidates(signal, least=least, most=1)
    return found[0] if found else None


def stand_in(evidence: Evidence, *signals: str, least: float = 0.5) -> tuple[int, str] | None:
    """A channel that runs as a signal does, even where nobody can say which of several it is.

    Four wheels run like the road, and throttle, pedal and their twins like the foot: together they
    may be likely enough, though none of them is by itself. With the signal that it is read as.
    """
    runs = {
        (i, signal): thin_run(evidence, i, signal)
        for signal in signals
        for i in evidence.candidates(signal, least=_SOME, most=_MOST)
    }
    likely = {key: evidence.likelihood(*key) for key in runs}
    clear = max(likely, key=lambda key: likely[key], default=None)
    if clear is None or likely[clear] >= _CLEAR:
        return clear

    def together(key: tuple[int, str]) -> float:
        return sum(p for k, p in likely.items() if k == key or alike(runs[key], runs[k]) > _SAME)

    best = max(runs, key=lambda key: (round(together(key), 3), likely[key]))
    return best if together(best) >= least else None
