"""What a thin sample shows of every channel: the plain figures that the witnesses judge by."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.logs.model import Channel, Log
from tuneledger.record import record
from tuneledger.roles import fills
from tuneledger.roles.folded import Fold
from tuneledger.units import Unit, parse_unit

_FEWEST = 20
# A lost sensor: it moved so often before, stands for so many samples, and leapt so many times as
# far as it ever did. Judgement.
_FEWEST_CHANGES, _FEWEST_LOST, _FURTHER = 5, 10, 3.0


@record(eq=False)
class Facts:
    """One channel's thin sample and its figures.

    unit:     what the label says, None where it cannot be read
    thin:     the sample in file order, NaN where a cell is missing
    low, mid, high: quantiles at 2, 50 and 98 %; NaN without numbers
    distinct: how many different numbers; whole: all of them integers
    restless: total movement over span; about 1 is one steady climb, 100 is noise
    """

    channel: Channel
    unit: Unit | None
    thin: FloatArray
    count: int
    low: float
    mid: float
    high: float
    distinct: int
    whole: bool
    restless: float

    @property
    def labelled(self) -> bool:
        return self.unit is None or self.unit.kind not in ("number", "state")

    @property
    def span(self) -> float:
        return self.high - self.low


def gather(log: Log, units: dict[str, str]) -> list[Facts]:
    """The facts of every channel but time. `units`: labels that somebody put right, by name."""
    return [
        _facts(log, channel, units.get(channel.name, channel.unit))
        for channel in log.channels
        if channel != log.time
    ]


def _facts(log: Log, channel: Channel, label: str) -> Facts:
    thin = np.asarray(log.sample(channel), dtype=np.float64)
    own = np.sort(thin[np.isfinite(thin)])
    if own.size < min(_FEWEST, thin.size):
        # a channel much slower than its rows: the thin sample falls between its cells
        thin = log.series(channel).values
        own = np.sort(thin)
    if own.size == 0:
        nan = float("nan")
        return Facts(channel, parse_unit(label), thin, 0, nan, nan, nan, 0, False, nan)
    unit = parse_unit(label)
    kind = unit.kind if unit is not None else "number"
    lost = lost_from(thin) if kind == "temperature" else None
    if lost is not None:
        thin = np.where(np.arange(thin.size) < lost, thin, np.nan)
        own = np.sort(thin[np.isfinite(thin)])
    cut = fills.without_raw(own, angle=kind == "angle", bare=kind == "number")
    if cut.size < own.size:
        thin = np.where((thin >= cut[0]) & (thin <= cut[-1]), thin, np.nan)
        own = cut
    low, mid, high = own[[int(q * (own.size - 1) + 0.5) for q in (0.02, 0.5, 0.98)]]
    steps = np.abs(np.diff(thin[np.isfinite(thin)])).sum()
    span = own[-1] - own[0]
    return Facts(
        channel=channel,
        unit=unit,
        thin=thin,
        count=own.size,
        low=float(low),
        mid=float(mid),
        high=float(high),
        distinct=1 + int(np.count_nonzero(np.diff(own))),
        whole=bool(np.all(own == np.rint(own))),
        restless=float(steps / span) if span > 0 else 0.0,
    )


def lost_from(values: FloatArray) -> int | None:
    """The row from which a temperature stands to the end, having leapt there from far outside all
    that it was before, as it reads when its sensor is lost; None where it does not."""
    known = np.flatnonzero(np.isfinite(values))
    changes = np.flatnonzero(np.diff(values[known]))
    if changes.size < _FEWEST_CHANGES or known.size - changes[-1] - 1 < _FEWEST_LOST:
        return None
    before, stands = values[known[: changes[-1] + 1]], values[known[-1]]
    outside = max(before.min() - stands, stands - before.max())
    leaps = np.abs(np.diff(before)).max()
    lost = outside > max(float(np.ptp(before)), _FURTHER * float(leaps))
    return int(known[changes[-1] + 1]) if lost else None


def unfolded(facts: Facts, fold: Fold, thin: FloatArray) -> Facts:
    """The facts of a channel that went round, its thin sample put right."""
    right = fold.unfolded(np.asarray(thin, dtype=np.float64))
    own = np.sort(right[np.isfinite(right)])
    low, mid, high = own[[int(q * (own.size - 1) + 0.5) for q in (0.02, 0.5, 0.98)]]
    steps, span = np.abs(np.diff(right[np.isfinite(right)])).sum(), own[-1] - own[0]
    return replace(
        facts,
        thin=right,
        count=own.size,
        low=float(low),
        mid=float(mid),
        high=float(high),
        distinct=1 + int(np.count_nonzero(np.diff(own))),
        restless=float(steps / span) if span > 0 else 0.0,
    )


def column(facts: Sequence[Facts], name: str) -> FloatArray:
    """One figure of all channels as an array."""
    return np.array([getattr(f, name) for f in facts], dtype=np.float64)
