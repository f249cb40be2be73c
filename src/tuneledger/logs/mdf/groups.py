"""From the tables of an MDF file to one `Log` of several groups, each with its own times."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from tuneledger.arrays import BoolArray, FloatArray, IntArray, frozen
from tuneledger.errors import Fault, LogError
from tuneledger.logs.delimited.channels import name_notes
from tuneledger.logs.delimited.moment import began
from tuneledger.logs.delimited.names import numbered, shortened
from tuneledger.logs.delimited.sources import without_sources
from tuneledger.logs.delimited.timecheck import FEWEST_SAMPLES, check_times, no_run, without_time
from tuneledger.logs.model import LEFT_OUT, Channel, Group, Log
from tuneledger.logs.source import Source
from tuneledger.logs.typed.columns import TypedColumns
from tuneledger.logs.typed.lazily import LazyTable
from tuneledger.private import PrivateFolder
from tuneledger.record import record
from tuneledger.wording import count, quantity


@record(eq=False)
class _Part:
    """One group: its tables, the first column of which is time, and what its channels are called.

    tables:  side by side, a few columns each
    invalid: how many samples of each channel are marked so, and missing
    times:   of the rows that have one; keep: which rows of the tables those are
    """

    tables: tuple[LazyTable, ...]
    channels: tuple[tuple[str, str], ...]
    invalid: tuple[int, ...]
    times: FloatArray
    keep: BoolArray

    @property
    def lost(self) -> int:
        """How many rows have no time."""
        return int(self.keep.size - self.times.size)

    @property
    def places(self) -> list[tuple[int, int]]:
        """(table, column) of the time and of every channel."""
        return [(t, i) for t, table in enumerate(self.tables) for i in range(len(table.headers))]


def read_groups(
    source: Source,
    folder: PrivateFolder,
    version: str,
    described: Sequence[dict[str, Any]],
    notes: Sequence[str],
    origin: datetime | None = None,
) -> Log:
    """One log. LogError where no group has samples on times that rise.

    described: per group its files in `folder`, and the names and units of its channels
    origin:    the moment from which all times count, where the file tells it
    """
    parts, faults = _parts(source, folder.path, described)
    if not parts:
        raise LogError(faults or [_nothing(source, described)])
    most = max(part.times.size for part in parts)
    if most < FEWEST_SAMPLES:
        raise LogError(faults or [no_run(source.name, most)])
    start = min(float(part.times[0]) for part in parts)
    times = [np.round(part.times - start, 9) for part in parts]
    for own in times:
        frozen(own)
    table = _Joined(parts, folder)
    longest = max(range(len(parts)), key=lambda i: times[i].size)
    channels = _channels(source.name, parts)
    time = Channel("time", "s", "time", source.name, table.column_of_time(longest), 1, longest)
    steps = [float(np.median(np.diff(own))) for own in times if own.size > 1]
    return Log(
        file=source.name,
        groups=tuple(Group(own) for own in times),
        channels=(*channels, time),
        time=time,
        columns=TypedColumns(
            table, {channel.column: channel.name for channel in channels}, missing=_invalid(parts)
        ),
        layout={
            "format": f"ASAM MDF {version}",
            "groups": count(len(parts), "group"),
            "time": "the master channel of each group, in s",
            "raster": ", ".join(sorted({quantity(1000.0 * step, "ms") for step in steps})[:6]),
        },
        notes=(
            *notes,
            *without_time(sum(part.lost for part in parts)),
            *name_notes(channels),
            *(f"a group is left out: {fault.found}" for fault in faults),
        ),
        began=began(origin, start),
    )


def _parts(
    source: Source, folder: Path, described: Sequence[dict[str, Any]]
) -> tuple[list[_Part], list[Fault]]:
    """The groups on times that rise, and what is wrong with the times of others."""
    parts: list[_Part] = []
    faults: list[Fault] = []
    for one in described:
        tables = tuple(LazyTable(source, pl.scan_ipc(folder / name)) for name in one["files"])
        stamps = tables[0].read([0])[0].to_numpy().astype(np.float64)
        keep = np.isfinite(stamps)
        if not keep.any():
            continue
        stamps = stamps if keep.all() else stamps[keep]
        rising = check_times(stamps, stamps, wrap=None, line=_row_of(keep), both=_none_shared)
        if isinstance(rising, Fault):
            faults.append(replace(rising, file=source.name))
            continue
        names = tuple((channel["name"], channel["unit"]) for channel in one["channels"])
        invalid = tuple(int(channel.get("invalid", 0)) for channel in one["channels"])
        parts.append(_Part(tables, names, invalid, rising.times + stamps[0], keep))
    return parts, faults


def _nothing(source: Source, described: Sequence[dict[str, Any]]) -> Fault:
    """What is said of a file without a group to read."""
    return Fault(
        "no row of it has a time" if described else "there is no group with samples in it",
        file=source.name,
        expected="at least one group of channels, sampled on a time that rises",
        do="Check that the logger recorded, or copy the file from it again.",
    )


def _invalid(parts: Sequence[_Part]) -> dict[int, str]:
    """What is missing in columns since it is marked invalid, in words."""
    numbers = [number for part in parts for number in part.invalid]
    return {
        column: f"{count(number, 'sample')} marked invalid in the file, and {LEFT_OUT}"
        for column, number in enumerate(numbers)
        if number
    }


def _row_of(keep: BoolArray) -> Callable[[int], str]:
    return lambda sample: f"row {int(np.flatnonzero(keep)[sample]) + 1}"


def _none_shared(samples: IntArray) -> BoolArray:
    """A group's rows are whole: two rows of one time are two samples."""
    return np.ones(samples.shape, dtype=np.bool_)


def _channels(file: str, parts: Sequence[_Part]) -> tuple[Channel, ...]:
    flat = [(g, name, unit) for g, part in enumerate(parts) for name, unit in part.channels]
    named = numbered(without_sources([shortened(name) for _, name, _ in flat]))
    return tuple(
        Channel(name, unit, header, file, column, twin, group)
        for column, ((name, twin), (group, header, unit)) in enumerate(
            zip(named, flat, strict=True)
        )
    )


class _Joined:
    """A `Table` over all groups: their channels in order, then the time of each group."""

    def __init__(self, parts: Sequence[_Part], folder: PrivateFolder) -> None:
        self._folder = folder  # held as long as a column may be read
        self._tables: list[LazyTable] = []
        self._keep: list[pl.Series | None] = []
        self._places: list[tuple[int, int]] = []
        times: list[tuple[int, int]] = []
        for part in parts:
            own = [(len(self._tables) + t, i) for t, i in part.places]
            times.append(own[0])
            self._places += own[1:]
            self._tables += part.tables
            keep = pl.Series(part.keep) if part.lost else None
            self._keep += [keep] * len(part.tables)
        self._channels = len(self._places)
        self._places += times

    def column_of_time(self, group: int) -> int:
        return self._channels + group

    @cached_property
    def types(self) -> tuple[pl.DataType, ...]:
        return tuple(self._tables[t].types[i] for t, i in self._places)

    def read(self, columns: list[int]) -> list[pl.Series]:
        out: dict[int, pl.Series] = {}
        for number in dict.fromkeys(self._places[c][0] for c in columns):
            own = [c for c in columns if self._places[c][0] == number]
            keep = self._keep[number]
            cells = self._tables[number].read([self._places[c][1] for c in own])
            out |= zip(
                own, cells if keep is None else [one.filter(keep) for one in cells], strict=True
            )
        return [out[c] for c in columns]
