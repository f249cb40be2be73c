"""A supplied map evaluated at candidate channels: what it reproduces settles several roles at once.

For every pair of channels that could be the map's inputs, in every unit they could be in, the map
is looked up and held against every channel that could be an advance.
"""

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import Axis, Calibration
from tuneledger.evaluate.lookup import interpolate
from tuneledger.record import record
from tuneledger.roles.evidence import SOUGHT, Evidence
from tuneledger.roles.fills import can_be
from tuneledger.roles.relations.advance import DELIVERED, SCHEDULED, Advances
from tuneledger.roles.relations.common import graded
from tuneledger.roles.relations.which import is_plain
from tuneledger.roles.values import Reading, ways_to_read
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion

_ROWS = 1500
_MOST_INPUTS = 6
_CLOSE_DEG = 0.35
_WORTHWHILE = 0.4
# A part of the map in which it hardly changes would fit any channel that stands still.
_LIVELY_DEG = 1.0
# A reading against the label has to reproduce this much more of the run.
_GAIN_FOR_READING = 0.15
_ROOM = 0.2


@record
class Input:
    """A channel read in one way as an axis of the map."""

    channel: int
    signal: str
    reading: Reading


@record
class Fit:
    """How much of the run a map, looked up at `inputs`, reproduces of the advance `channel`."""

    inputs: tuple[Input, ...]
    channel: int
    share: float


def weigh(evidence: Evidence, found: Advances, sheets: Sequence[Calibration]) -> None:
    """Add what the sheets' maps say of their inputs and of the advances."""
    best: list[Fit] = []
    for sheet in sheets:
        fits = _fits(evidence, found, sheet.spark.map.axes, sheet.spark.map.grid)
        if max((f.share for f in fits), default=0.0) > max((f.share for f in best), default=0.0):
            best = fits
    liked = evidence.certainties()

    def preferred(fit: Fit) -> float:
        """Between equals, what was likelier before."""
        before = [float(liked[i.channel, SOUGHT.index(i.signal)]) for i in fit.inputs]
        return _worth(fit) + 0.02 * sum(before)

    top = max(best, key=preferred, default=None)
    if top is None or top.share < _WORTHWHILE:
        return
    for place in range(len(top.inputs)):
        _weigh_inputs(evidence, best, top, place)
    _weigh_advances(evidence, found, best, top)


def _worth(fit: Fit) -> float:
    """A share of the run, less for readings against the label."""
    odd = sum(i.reading.relabelled is not None for i in fit.inputs)
    return fit.share - _GAIN_FOR_READING * odd


def _fits(evidence: Evidence, found: Advances, axes: Sequence[Axis], grid: FloatArray) -> list[Fit]:
    most = _MOST_INPUTS if len(axes) < 3 else _MOST_INPUTS // 2
    choices = [list(_inputs(evidence, axis, most)) for axis in axes]
    if not choices or not all(choices):
        return []
    every = max(1, found.rows.times.size // _ROWS)
    advances = {
        i: degrees[::every]
        for i, degrees in found.degrees.items()
        if found.like_advance.get(i, 0.0) > -1.0
    }
    columns = {
        choice: _column(found, choice, axis)[::every]
        for axis, some in zip(axes, choices, strict=True)
        for choice in some
    }
    out = []
    for inputs in product(*choices):
        if len({i.channel for i in inputs}) < len(inputs):
            continue
        looked_up = interpolate([a.points for a in axes], grid, [columns[i] for i in inputs])
        if not np.nanstd(looked_up) > _LIVELY_DEG:
            continue
        for channel, degrees in advances.items():
            gap = np.abs(looked_up - degrees)
            own = np.isfinite(gap)
            if own.sum() > 50:
                close = max(_CLOSE_DEG, 0.3 + 0.75 * found.rows.step(channel))
                out.append(Fit(inputs, channel, float((gap[own] <= close).mean())))
    return out


def _inputs(evidence: Evidence, axis: Axis, most: int) -> Iterator[Input]:
    """Channels that may be the axis's signal, each in the readings that its numbers allow."""
    signal = axis.signal
    if signal not in SIGNALS or axis.minus or axis.over or axis.rate or axis.since:
        return
    for i in evidence.candidates(signal, least=1e-5, most=most):
        usual = evidence.readings.get((i, signal))
        if usual is None:
            continue
        yield Input(i, signal, usual)
        unit = evidence.facts[i].unit
        thin = evidence.facts[i].thin
        for reading in ways_to_read(signal, unit.symbol if unit else None, evidence.house):
            if (
                reading.relabelled == "unit"
                and evidence.facts[i].channel.name in evidence.house.told
            ):
                continue
            other = (reading.scale, reading.offset) != (usual.scale, usual.offset)
            read = thin * reading.scale + reading.offset
            if other and _can_be(read, signal) and _within_axis(read, axis, signal):
                yield Input(i, signal, reading)


def _can_be(values: FloatArray, signal: str) -> bool:
    """Whether no more than noise lies beyond what a signal can be: a map holds its last value
    outside, and would fit there however far out."""
    low, high = can_be(signal)
    room = _ROOM * (high - low)
    own = values[np.isfinite(values)]
    return bool(own.size and own.min() >= low - room and own.max() <= high + room)


def _within_axis(values: FloatArray, axis: Axis, signal: str) -> bool:
    """Whether most of the run lies where the map has points, and uses a good part of them."""
    scale, offset = conversion(SIGNALS[signal].unit, axis.unit or SIGNALS[signal].unit) or (
        1.0,
        0.0,
    )
    low, high = axis.points[0], axis.points[-1]
    room = 0.5 * (high - low)
    own = values[np.isfinite(values)] * scale + offset
    inside = (own > low - room) & (own < high + room)
    return bool(own.size and inside.mean() > 0.8 and np.ptp(own) > 0.15 * (high - low))


def _column(found: Advances, choice: Input, axis: Axis) -> FloatArray:
    """The channel's numbers in the axis's unit."""
    own = found.rows.raw(choice.channel) * choice.reading.scale + choice.reading.offset
    scale, offset = conversion(SIGNALS[choice.signal].unit, axis.unit or "") or (1.0, 0.0)
    return np.asarray(own * scale + offset)


def _weigh_inputs(evidence: Evidence, fits: Sequence[Fit], top: Fit, place: int) -> None:
    """The input that reproduces most, against those that reproduce less in its place."""
    chosen = top.inputs[place]
    share: dict[int, float] = {}
    for fit in fits:
        if fit.channel == top.channel:
            channel = fit.inputs[place].channel
            share[channel] = max(share.get(channel, 0.0), _worth(fit))
    rest = max((s for c, s in share.items() if c != chosen.channel), default=0.0)
    lead = float(np.clip(12.0 * (share[chosen.channel] - rest), 0.0, 6.0))
    says = f"the map, looked up with it, gives what is scheduled in {top.share:.0%} of the run"
    evidence.add(chosen.channel, chosen.signal, lead + 2.0 * graded(top.share, 0.4, 0.9), says)
    evidence.readings[chosen.channel, chosen.signal] = chosen.reading
    for channel, part in share.items():
        if channel != chosen.channel:
            lost = 12.0 * (share[chosen.channel] - part)
            evidence.add(channel, chosen.signal, -float(np.clip(lost, 0.0, 6.0)))


def _weigh_advances(evidence: Evidence, found: Advances, fits: Sequence[Fit], top: Fit) -> None:
    """The channel that the map gives is an advance; of several, the nearest is scheduled."""
    share = dict.fromkeys(found.degrees, 0.0)
    for fit in fits:
        if fit.inputs == top.inputs:
            share[fit.channel] = fit.share
    for channel, part in share.items():
        says = f"the supplied map gives its value in {part:.0%} of the run"
        weight = 4.0 * graded(part, 0.15, 0.6)
        for signal in (SCHEDULED, DELIVERED):
            evidence.add(channel, signal, weight, says if weight else None)
    likely = [
        c
        for c, part in share.items()
        if is_plain(evidence, found, c) and (part > 0.1 or found.like_advance.get(c, 0.0) > 0.5)
    ]
    for channel in likely:
        others = [share[c] for c in likely if c != channel]
        if not others:
            continue
        lead = float(np.clip(25.0 * (share[channel] - max(others)), -6.0, 6.0))
        # scheduled keeps to its own map all the time; half the time is no more than a hint
        lead *= graded(max(share[channel], *others), 0.3, 0.9)
        found.lean[channel] = found.lean.get(channel, 0.0) + lead
        if lead > 0:
            found.reason[channel] = "is nearest to the supplied map"
