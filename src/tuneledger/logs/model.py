"""What a log is, whatever file it came from: groups with their own times, and channels.

Values are read lazily. A log of 150 channels is parsed once as text; only the columns that
somebody asks for become numbers, and each of those only once.
"""

from collections.abc import Mapping, Sequence
from dataclasses import field
from datetime import datetime
from typing import Protocol

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.record import record

NOT_READ = "not read as a number"
LEFT_OUT = "left out"
"""In the notes of a format's columns: cells that held something, and give nothing."""


@record
class Channel:
    """One column of a log, with where it stands in its file.

    name:   header text without the unit and outer spaces; a second of that name is `Name #2`
    unit:   as the file has it (`°KW`, `1/min`), "" where it has none
    header: the header text exactly as the file has it
    column: index in the file, from 0
    twin:   1 for the first of a name, 2 for the second
    group:  index into `Log.groups`
    """

    name: str
    unit: str
    header: str
    file: str
    column: int
    twin: int = 1
    group: int = 0


@record(eq=False)
class Group:
    """Channels sampled together. `times`: seconds from the log's first sample, file order."""

    times: FloatArray


@record(eq=False)
class Series:
    """The own samples of one channel: no row in which the file has nothing for it.

    times, values: equal length, finite; rows: index of each in the channel's group.
    """

    times: FloatArray
    values: FloatArray
    rows: IntArray

    def on(self, times: FloatArray, *, held: bool = False) -> FloatArray:
        """The series at other times; NaN outside its first and last sample.

        `held` takes the last sample at or before each time (switches, counters, held channels);
        otherwise the value is interpolated linearly between samples.
        """
        if self.times.size == 0:
            return np.full(times.shape, np.nan)
        if held:
            index = np.searchsorted(self.times, times, side="right") - 1
            out = self.values[np.clip(index, 0, None)].astype(np.float64)
        else:
            out = np.interp(times, self.times, self.values)
        out[(times < self.times[0]) | (times > self.times[-1])] = np.nan
        return out


class Columns(Protocol):
    """Where a format keeps the cells of a log. Implemented once per format."""

    def numbers(self, column: int) -> FloatArray:
        """Every row of a column; NaN where it is missing or not a number; switches are 1 and 0."""
        ...

    def sample(self, column: int) -> FloatArray:
        """A thin, evenly spread sample of a column (a few hundred rows), in file order."""
        ...

    def some(self, columns: Sequence[int], rows: IntArray) -> Mapping[int, FloatArray]:
        """Some rows of columns, as `numbers` has them, read without the rest; a column of which
        these rows alone do not tell how it reads is left out."""
        ...

    def words(self, column: int) -> tuple[str, ...]:
        """Up to eight distinct cells of the thin sample that are neither numbers nor missing."""
        ...

    def notes(self) -> tuple[str, ...]:
        """What the columns read so far held that is no number, or had to have decided for them."""
        ...


@record(eq=False)
class Log:
    """One log, read-only. `layout` says how the file was read, for `tuneledger look`.

    layout: plain facts in reading order, e.g. {"encoding": "utf-8", "delimiter": ";", …}
    notes:  sentences about the file (duplicate names, a cut-off last line, rows dropped)
    began:  when its first sample was, where the file says so; without a zone as its logger's clock
            showed it
    """

    file: str
    groups: tuple[Group, ...]
    channels: tuple[Channel, ...]
    time: Channel
    columns: Columns
    layout: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    began: datetime | None = None
    _numbers: dict[int, FloatArray] = field(default_factory=dict, repr=False)

    def find(self, name: str) -> Channel | None:
        """The channel of that name, without regard to case and outer spaces.

        The header text with its unit (`Throttle (%)`) finds it too, where no name is like that.
        """
        wanted = name.strip().casefold()
        named = (c for c in self.channels if c.name.casefold() == wanted)
        headed = (c for c in self.channels if c.header.strip().casefold() == wanted)
        return next(named, None) or next(headed, None)

    @property
    def cell_notes(self) -> tuple[str, ...]:
        """Sentences about the cells of the channels whose values were read so far."""
        return self.columns.notes()

    def times(self, channel: Channel) -> FloatArray:
        """The times of the channel's group: one per value of `values(channel)`."""
        return self.groups[channel.group].times

    def values(self, channel: Channel) -> FloatArray:
        """Every row of a channel in its own unit; NaN where the file has nothing."""
        if channel.column not in self._numbers:
            numbers = self.columns.numbers(channel.column)
            numbers.setflags(write=False)
            self._numbers[channel.column] = numbers
        return self._numbers[channel.column]

    def values_once(self, channel: Channel) -> FloatArray:
        """The same, not kept for whoever asks next: for those who go through all channels."""
        kept = self._numbers.get(channel.column)
        return self.columns.numbers(channel.column) if kept is None else kept

    def series(self, channel: Channel) -> Series:
        """The channel's own samples: the rows that are missing are left out, not filled."""
        values = self.values(channel)
        own: BoolArray = np.isfinite(values)
        rows = np.flatnonzero(own).astype(np.int64)
        return Series(self.times(channel)[rows], values[rows], rows)

    def sample(self, channel: Channel) -> FloatArray:
        """A thin sample of the channel, enough to see what it is; costs next to nothing."""
        return self.columns.sample(channel.column)

    def some(self, channels: Sequence[Channel], rows: IntArray) -> dict[Channel, FloatArray]:
        """Some rows of channels of one group; of a long log that costs far less than `values`."""
        new = [c.column for c in channels if c.column not in self._numbers]
        found = self.columns.some(new, rows) if new else {}
        return {c: found[c.column] if c.column in found else self.values(c)[rows] for c in channels}

    @property
    def samples(self) -> int:
        """Rows of the largest group."""
        return max((g.times.size for g in self.groups), default=0)

    @property
    def duration_s(self) -> float:
        """Seconds from the first to the last sample of any group."""
        return max((float(np.nanmax(g.times)) for g in self.groups if g.times.size), default=0.0)

    @property
    def rate_hz(self) -> float:
        """Rows per second of the largest group, from the median step."""
        times = max(self.groups, key=lambda g: g.times.size).times
        step = float(np.median(np.diff(times))) if times.size > 1 else 0.0
        return round(1.0 / step, 6) if step > 0 else 0.0
