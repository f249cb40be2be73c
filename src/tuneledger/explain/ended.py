"""Channels that end before what they measure does, and channels that stop on the way.

A sensor, or the channel it is sent in, has a highest number. What goes beyond stands at exactly
that number, enters it at full pace and leaves it so, while all else goes on moving: sharp corners
that nothing with a mass makes. It was that number or more. A channel that stops amid its range and
stays there says nothing any more.
"""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.ledger.book import Book
from tuneledger.ledger.episodes import Run, true_runs
from tuneledger.logs.behaviour import frozen_spans
from tuneledger.logs.steps import quantisation_step
from tuneledger.roles.model import Role, Unsure
from tuneledger.roles.values import AIR_KPA

# An end is stood at for so long, in so much of the run, in stretches of so many samples.
_END_S, _END_SHARE, _END_ROWS = 2.0, 0.03, 3
# Just short of it the channel is hardly ever found, and it goes in and out at so many steps a
# sample: what settles of itself lingers there, and moves by less and less.
_STEPS_SHORT, _LINGERS, _CORNER_STEPS = 3.0, 0.2, 2.0
# An engine without a compressor has the outside air in its manifold: that is no sensor's end.
_OUTSIDE = (0.96, 1.04)
_NOISE_ROWS = 3  # rows that noise lifts a channel off its end, judgement
_MOVES_RPM = 300.0  # beyond the hunting of an idle, judgement
# A foot, and the plate that it moves, stop where they like, and at their own stops.
_MAY_END = (
    "engine speed",
    "manifold absolute pressure",
    "engine load",
    "vehicle speed",
    "oil pressure",
    "fuel pressure",
    "intake air temperature",
    "oil temperature",
    "engine coolant temperature",
    "fuel temperature",
)
# What follows the engine moves where that turns up and down by so much, or so much of its range.
_TURNS_RPM, _TURNS_SHARE = 1000.0, 0.3
# Intake air that moved again and again and then stands for so long, so much longer than before.
_AIR_STANDS_S, _AIR_LONGER, _AIR_CHANGES = 30.0, 8.0, 8
# Shorter where it then leaps, by so much more than it moves from one sample to the next elsewhere.
_AIR_LEAPS_AFTER_S, _AIR_LEAPS = 8.0, 4.0
_MAY_STOP = (
    "engine speed",
    "manifold absolute pressure",
    "engine load",
    "vehicle speed",
    "oil pressure",
)
_STANDS_S = 5.0


def where_it_ends(book: Book, role: Role) -> Unsure | None:
    """When a channel stands at its own highest or lowest number as nothing but an end does."""
    series = book.log.series(role.channel)
    if role.signal not in _MAY_END or series.values.size < 2 * _END_ROWS:
        return None
    step = quantisation_step(series.values) or 0.0
    for turned in (1.0, -1.0):
        at = _at_the_end(turned * series.values, series.times, step)
        if at is None or not _others_move(book, series.times, at):
            continue
        end = float(role.read(np.array([turned * (turned * series.values).max()]))[0])
        if not _outside_air(book, role, end):
            high = (turned > 0) == (role.scale > 0)
            runs = true_runs(at)
            spans = tuple((float(series.times[a]), float(series.times[b])) for a, b in runs)
            return Unsure(spans, end, "high" if high else "low")
    return None


def _at_the_end(values: FloatArray, times: FloatArray, step: float) -> BoolArray | None:
    """The rows at the highest value; None where that is no end with sharp corners."""
    highest = float(values.max())
    at = values >= highest - 1e-9 * max(1.0, abs(highest))
    runs = [run for run in _joined(true_runs(at)) if run[1] - run[0] + 1 >= _END_ROWS]
    lasts = sum(float(times[b] - times[a]) for a, b in runs)
    if lasts < max(_END_S, _END_SHARE * float(np.ptp(times))):
        return None
    short = ~at & (values >= highest - _STEPS_SHORT * step)
    if short.sum() > _LINGERS * at.sum():
        return None
    paces = list(_corners(values, runs))
    if len(paces) < 2 or float(np.median(paces)) < _CORNER_STEPS * step or step == 0.0:
        return None
    return at


def _joined(runs: list[Run]) -> list[Run]:
    """Runs that noise has parted for a sample or two are one."""
    out: list[Run] = []
    for first, last in runs:
        if out and first - out[-1][1] <= _NOISE_ROWS:
            out[-1] = (out[-1][0], last)
        else:
            out.append((first, last))
    return out


def _corners(values: FloatArray, runs: list[Run]) -> Iterator[float]:
    """How fast the channel goes just before it reaches its end, and just after it leaves it: per
    sample, over a few of them."""
    few = _NOISE_ROWS - 1
    for first, last in runs:
        if first > few:
            yield float(values[first - 1] - values[first - 1 - few]) / few
        if last + 1 + few < values.size:
            yield float(values[last + 1] - values[last + 1 + few]) / few


def _others_move(book: Book, times: FloatArray, at: BoolArray) -> bool:
    """Whether the engine goes on turning up and down meanwhile."""
    speed = book.inputs.signal("engine speed", "rpm")
    if speed is None:
        return False
    there = np.interp(times[at], book.times, speed)
    there = there[np.isfinite(there)]
    return there.size > 0 and float(np.ptp(there)) > _MOVES_RPM


def _outside_air(book: Book, role: Role, end: float) -> bool:
    if role.signal != "manifold absolute pressure":
        return False
    logged = book.inputs.signal("barometric pressure", "kPa")
    known = logged is not None and bool(np.isfinite(logged).any())
    air = float(np.nanmedian(logged)) if known and logged is not None else AIR_KPA
    low, high = _OUTSIDE if known else (0.85, _OUTSIDE[1])
    return low * air <= end <= high * air


def where_it_stops(book: Book, role: Role) -> Unsure | None:
    """When a channel that moved stands still amid its range, once and for long."""
    series = book.log.series(role.channel)
    if role.signal in _MAY_STOP:
        spans = frozen_spans(series.times, series.values) if series.values.size else ()
    elif role.signal == "intake air temperature":
        spans = _air_stops(series.times, series.values)
    else:
        return None
    spans = tuple(s for s in spans if s[1] - s[0] >= _STANDS_S and _turns(book, s))
    return Unsure(spans) if spans else None


def _air_stops(times: FloatArray, values: FloatArray) -> tuple[tuple[float, float], ...]:
    """Where intake air stands, having moved all the time else: to the end of a run, or until it
    leaps to where it should have been meanwhile."""
    steps = np.diff(values)
    changes = np.flatnonzero(steps != 0.0)
    if changes.size < _AIR_CHANGES:
        return ()
    last = int(changes[-1]) + 1
    stood = np.diff(times[np.concatenate(([0], changes + 1))])
    stands = float(times[-1] - times[last])
    if stands >= max(_AIR_STANDS_S, _AIR_LONGER * float(stood.max())):
        return ((float(times[last]), float(times[-1])),)
    most = int(stood[1:].argmax()) + 1
    others = np.delete(stood, most)
    if stood[most] < max(_AIR_LEAPS_AFTER_S, _AIR_LONGER * float(others.max()), stands):
        return ()
    leap, usual = abs(steps[changes[most]]), np.abs(np.delete(steps[changes], most)).max()
    if leap < _AIR_LEAPS * usual:
        return ()
    return ((float(times[changes[most - 1] + 1]), float(times[changes[most]])),)


def _turns(book: Book, span: tuple[float, float]) -> bool:
    speed = book.inputs.signal("engine speed", "rpm")
    if speed is None:
        return True  # it is what stands
    within = (book.times >= span[0]) & (book.times <= span[1]) & np.isfinite(speed)
    enough = min(_TURNS_RPM, _TURNS_SHARE * float(np.nanmax(speed) - np.nanmin(speed)))
    return bool(within.any()) and float(np.ptp(speed[within])) > enough
