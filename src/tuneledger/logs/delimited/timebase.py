"""Which column is time, and in which unit it counts.

Three things speak for a column: its name, a unit of time, and that its values rise. A counter of
rows rises too, and so do distance and fuel used; without a name or a unit only an even, finer
raster is taken for time, and it is said.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Protocol

import numpy as np
import polars as pl

from tuneledger.arrays import FloatArray
from tuneledger.logs.delimited.clocktimes import ClockTimes, read_clock
from tuneledger.logs.delimited.moment import counted_from
from tuneledger.logs.delimited.timenames import other_unit, time_likeness, time_unit
from tuneledger.logs.model import Channel
from tuneledger.record import record
from tuneledger.units import parse_unit
from tuneledger.wording import number, visible

_DAY_S = 86400.0
# Seconds from row to row that a log of an engine can have, for a column without a unit.
_SLOWEST_S = 3.0
_FASTEST_S = 5e-5
_SHEET_DAYS = (30000.0, 60000.0)  # years 1982 to 2064, as days of a spreadsheet


class Cells(Protocol):
    """What of a log's columns the search for time needs."""

    def sample(self, column: int) -> FloatArray: ...

    def numbers(self, column: int) -> FloatArray: ...

    def is_clock(self, column: int) -> bool: ...

    def cells(self, column: int) -> pl.Series: ...


@record(eq=False)
class TimeColumn:
    """The column taken for time.

    stamps: every row in seconds from an arbitrary origin, NaN where there is none
    raw:    the same in the column's own unit, for a counter that rolls over
    unit:   "s", "ms", … or "clock"
    why:    what spoke for it, in words
    wrap:   seconds after which a clock without date begins anew, else None
    origin: the moment that `stamps` count from, where they tell it
    """

    channel: Channel
    stamps: FloatArray
    raw: FloatArray
    unit: str
    why: str
    notes: tuple[str, ...]
    wrap: float | None = None
    origin: datetime | None = None


@record
class _Candidate:
    channel: Channel
    name: float
    unit: str | None
    clock: bool
    rises: float
    moves: float
    counter: bool
    even: bool

    @property
    def fits(self) -> bool:
        if self.name == 1.0 and (len(self.channel.name) > 1 or self.unit):
            return True
        if self.clock:
            return self.rises > 0.8
        if self.name and self.unit:
            return self.rises > 0.9 and self.moves > 0.02
        if self.name == 1.0 or self.unit:
            return self.rises == 1.0 and self.moves > 0.1
        if self.channel.unit:
            return False
        if self.name:
            return self.rises == 1.0 and self.moves > 0.2 and not self.counter
        return self.rises == 1.0 and self.moves > 0.95 and self.even and not self.counter

    @property
    def score(self) -> float:
        told = 3.0 * self.name + 2.0 * (self.unit is not None or self.clock)
        rise = 3.0 * self.rises * min(1.0, 0.3 + self.moves) if self.rises > 0.5 else 0.0
        if self.rises == 1.0 and self.moves > 0:
            rise += 2.0
        place = 0.5 * (self.channel.column == 0) + 0.5 * self.even
        doubt = 3.0 if self.counter and not self.unit and self.name < 1.0 else 0.0
        return told + rise + place + self.moves - doubt


def find_time(columns: Cells, channels: Sequence[Channel]) -> TimeColumn | None:
    """The column that is time, or None where none can be."""
    candidates = [c for channel in channels if (c := _look_at(columns, channel)) and c.fits]
    if not candidates:
        return None
    best = max(candidates, key=lambda c: (c.score, -c.channel.column))
    found = _clock_column(columns, best) if best.clock else _counted_column(columns, best)
    broken = [c for c in candidates if c is not best and c.name == 1.0 and 0.9 < c.rises < 1.0]
    notes = [f"{_quoted(c)} runs backwards in places; {_quoted(best)} is time" for c in broken]
    return replace(found, notes=(*found.notes, *notes))


def _look_at(columns: Cells, channel: Channel) -> _Candidate | None:
    if other_unit(channel.unit):
        return None
    sample = columns.sample(channel.column)
    own = sample[np.isfinite(sample)]
    if own.size < 2 or own.size < 0.2 * sample.size:
        return None
    steps = np.diff(own)
    name = time_likeness(channel.name)
    rises = float((steps >= 0).mean())
    unit = time_unit(channel.name, channel.unit)
    if rises < 0.8 and name < 1.0 and unit is None:
        return None
    moves = float((steps > 0).mean())
    even, counter = _raster(columns, channel) if rises == 1.0 and moves else (False, False)
    return _Candidate(
        channel=channel,
        name=name,
        unit=unit,
        clock=columns.is_clock(channel.column),
        rises=rises,
        moves=moves,
        counter=counter,
        even=even,
    )


def _raster(columns: Cells, channel: Channel) -> tuple[bool, bool]:
    """(even steps, a mere counter of rows) of a rising column."""
    values = columns.numbers(channel.column)
    steps = np.diff(values[np.isfinite(values)])
    usual = float(np.median(steps))
    even = usual > 0 and float((np.abs(steps - usual) <= 0.25 * usual).mean()) > 0.9
    whole = bool((steps == np.round(steps)).all())
    return even, whole and even and usual == 1.0


def _clock_column(columns: Cells, best: _Candidate) -> TimeColumn:
    times: ClockTimes = read_clock(columns.cells(best.channel.column))
    wrap = None if times.dated else 3600.0 if times.form == "mm:ss" else _DAY_S
    why = f"it holds clock times ({times.form})"
    seconds = times.seconds
    return TimeColumn(best.channel, seconds, seconds, "clock", why, (), wrap, times.origin)


def _counted_column(columns: Cells, best: _Candidate) -> TimeColumn:
    raw = columns.numbers(best.channel.column)
    unit, why, notes = _unit_of(best, raw)
    known = parse_unit(unit)
    factor = {"ns": 1e-9, "day": _DAY_S}.get(unit) or (known.factor if known else 1.0)
    reasons = []
    if best.name:
        reasons.append("its name" if best.name > 0.5 else "nearly its name")
    if best.unit:
        reasons.append("its unit")
    if not reasons:
        notes = (*notes, f"no column is named time; {_quoted(best)} is taken for it")
        reasons.append("no other column")
        reasons.append("even steps")
    if best.rises == 1.0 and best.moves > 0:
        reasons.append("values that rise")
    stamps = raw * factor
    first = stamps[np.isfinite(stamps)][:1]
    return TimeColumn(
        best.channel,
        stamps,
        raw,
        unit,
        f"{', '.join(reasons)}; {why}",
        tuple(notes),
        origin=counted_from(float(first[0]), unit) if first.size else None,
    )


def _unit_of(best: _Candidate, raw: FloatArray) -> tuple[str, str, tuple[str, ...]]:
    """(unit, why, notes): as labelled, unless no log can be that fast; else by the step."""
    own = raw[np.isfinite(raw)]
    steps = np.diff(own)
    steps = steps[steps > 0]
    step = float(np.median(steps)) if steps.size else 0.0
    if best.unit:
        return _as_labelled(best, best.unit, step)
    unit = _unit_by_step(own, step)
    why = f"no unit, steps of {number(step)} read as {unit}"
    if unit == "s" and step != round(step):
        return unit, why, ()
    note = f"{_quoted(best)} has no unit; by its steps of {number(step)} it counts in {unit}"
    return unit, why, (note,)


def _as_labelled(best: _Candidate, unit: str, step: float) -> tuple[str, str, tuple[str, ...]]:
    known = parse_unit(unit)
    factor = known.factor if known else 1e-9
    if unit in ("ms", "us") and 0 < step * factor < _FASTEST_S and step < _SLOWEST_S:
        note = (
            f"{_quoted(best)} is labelled {unit}, but steps of {number(step)} {unit} are faster "
            "than any log; it is read in s"
        )
        return "s", f"labelled {unit}, its steps are those of s", (note,)
    if unit == "s" and step >= 5 * _SLOWEST_S / 3:
        note = (
            f"{_quoted(best)} is labelled s and steps by {number(step)} s; "
            "if these are milliseconds, label it ms"
        )
        return unit, f"in {unit}", (note,)
    return unit, f"in {unit}", ()


def _unit_by_step(values: FloatArray, step: float) -> str:
    if step < _SLOWEST_S:
        low, high = _SHEET_DAYS
        days = values.size > 0 and low < values[0] < high and step < _FASTEST_S * 20
        return "day" if days else "s"
    if step < 1e3 * _SLOWEST_S:
        return "ms"
    return "us" if step < 1e6 * _SLOWEST_S else "ns"


def _quoted(best: _Candidate) -> str:
    return f"'{visible(best.channel.name)}'"
