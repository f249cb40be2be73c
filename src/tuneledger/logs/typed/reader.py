"""A table of typed columns to `Log`: names, time, samples."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np
import polars as pl

from tuneledger.arrays import BoolArray, IntArray, frozen
from tuneledger.errors import Fault, LogError
from tuneledger.logs.behaviour import time_gaps
from tuneledger.logs.delimited.channels import name_notes
from tuneledger.logs.delimited.moment import began
from tuneledger.logs.delimited.timebase import TimeColumn, find_time
from tuneledger.logs.delimited.timecheck import (
    FEWEST_SAMPLES,
    Times,
    check_times,
    no_run,
    without_time,
)
from tuneledger.logs.model import Channel, Group, Log
from tuneledger.logs.source import Source
from tuneledger.logs.typed.columns import TypedColumns
from tuneledger.logs.typed.headers import split_headers
from tuneledger.logs.typed.lazily import LazyTable
from tuneledger.wording import few, quantity, time_span, visible

_TEMPORAL = (pl.Datetime, pl.Duration, pl.Time)


def read_typed(source: Source, table: LazyTable, sample: Sequence[pl.Series], form: str) -> Log:
    """A log out of one table. LogError without a time that rises, samples, or any number.

    sample: a few rows of every column; form: what the format is called
    """
    channels = _channels(source.name, table)
    columns = TypedColumns(table, {channel.column: channel.name for channel in channels}, sample)
    time = find_time(columns, channels) if channels else None
    if time is None:
        names = [f"'{visible(channel.name)}'" for channel in channels]
        raise _refused(
            source,
            "no column is time: none is named or measured as time and rises from row to row",
            "a column of time",
            "Log with a time column; a counter of rows is none.",
            f"columns {few(names)}" if names else None,
        )
    times, notes = _times(source, columns, time, channels)
    others = [channel.column for channel in channels if channel != time.channel]
    if not any(np.isfinite(columns.sample(i)).any() for i in others):
        raise _refused(
            source,
            "no channel holds a single number",
            "at least one channel with values beside the time",
            "Check that the logger was connected, and which channels it was told to log.",
        )
    step = float(np.median(np.diff(times.times)))
    gaps = [time_span(start, end) for start, end in time_gaps(times.times)]
    return Log(
        file=source.name,
        groups=(Group(times.times),),
        channels=channels,
        time=time.channel,
        columns=columns,
        layout={
            "format": form,
            "time": f"'{visible(time.channel.name)}', {time.unit} ({time.why})",
            "raster": quantity(step * 1000.0, "ms") if step < 1 else quantity(step, "s"),
        },
        notes=(
            *name_notes(channels),
            *notes,
            *time.notes,
            *times.notes,
            *([f"no samples from {few(gaps)}"] if gaps else []),
        ),
        began=_began(time, times, table),
    )


def _began(time: TimeColumn, times: Times, table: LazyTable) -> datetime | None:
    moment = began(time.origin, times.first_s)
    kind = table.types[time.channel.column]
    if moment is not None and isinstance(kind, pl.Datetime) and not kind.time_zone:
        return moment.replace(tzinfo=None)  # a clock on a wall, whose zone nobody wrote down
    return moment


def _refused(
    source: Source, found: str, expected: str, do: str, place: str | None = None
) -> LogError:
    return LogError(Fault(found, file=source.name, place=place, expected=expected, do=do))


def _channels(file: str, table: LazyTable) -> tuple[Channel, ...]:
    return tuple(
        Channel(
            name,
            unit or ("s" if isinstance(kind, _TEMPORAL) else ""),
            table.headers[i],
            file,
            i,
            twin,
        )
        for i, ((name, twin, unit), kind) in enumerate(
            zip(split_headers(table.headers), table.types, strict=True)
        )
    )


def _times(
    source: Source, columns: TypedColumns, time: TimeColumn, channels: Sequence[Channel]
) -> tuple[Times, tuple[str, ...]]:
    """The times of the rows that have one; the columns give only those from here on."""
    keep: BoolArray = np.isfinite(time.stamps)
    kept = np.flatnonzero(keep)
    if kept.size < FEWEST_SAMPLES:
        raise LogError(no_run(source.name, int(kept.size)))
    columns.keep_only(keep)
    others = [channel.column for channel in channels if channel != time.channel]
    times = check_times(
        time.stamps[kept],
        time.raw[kept],
        wrap=time.wrap,
        line=lambda sample: f"row {int(kept[sample]) + 1}",
        both=_shared_cells(columns, others),
    )
    if isinstance(times, Fault):
        raise LogError(replace(times, file=source.name))
    frozen(times.times)
    return times, without_time(keep.size - kept.size)


def _shared_cells(columns: TypedColumns, others: Sequence[int]) -> Callable[[IntArray], BoolArray]:
    """For samples: whether one and the sample before both hold a value of one channel."""

    def both(samples: IntArray) -> BoolArray:
        shared = np.zeros(samples.shape, dtype=np.bool_)
        for column in others:
            has = columns.cells(column).is_not_null().to_numpy()
            shared |= has[samples] & has[samples - 1]
        return shared

    return both
