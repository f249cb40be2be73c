"""One group of an MDF file as Arrow tables of a few columns each. Part of what runs apart."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
from polars.exceptions import PolarsError

from tuneledger.logs.mdf.converted import formula_of, stored_alone

_CELLS_AT_ONCE = 16_000_000
_MOST_AT_ONCE = 32  # channels


class NoRoomError(Exception):
    """A table that cannot be put on the disk."""


class Files:
    """Tables in a folder, under names of ours."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._count = 0

    def put(self, columns: Sequence[pl.Series]) -> str:
        """Write a table; its file's name. NoRoomError where the disk does not take it."""
        name = f"table-{self._count}.arrow"
        self._count += 1
        try:
            pl.DataFrame(columns).write_ipc(self._folder / name, compression="uncompressed")
        except (OSError, PolarsError) as problem:
            raise NoRoomError(str(problem)) from problem
        return name


@dataclass
class Carried:
    """A group as it was written.

    files:    its tables; the first column of all is the time in seconds
    channels: name and unit of each other column, and how many of its samples are marked invalid
    lost:     channels of arrays or bytes
    refused:  channels whose conversion is a formula that cannot be carried out
    """

    files: list[str] = field(default_factory=list)
    channels: list[dict[str, Any]] = field(default_factory=list)
    lost: int = 0
    refused: list[str] = field(default_factory=list)


def carry(mdf: Any, number: int, files: Files) -> Carried:
    """Write a group's channels on its own times; nothing of a group without samples."""
    group, master = mdf.groups[number], mdf.masters_db.get(number)
    found = Carried()
    own = [i for i in range(len(group.channels)) if i != master]
    if master is not None and stored_alone(group.channels[master].conversion, mdf.version):
        found.refused += [group.channels[i].name for i in own]
        return found
    rows = int(group.channel_group.cycles_nr)
    together = max(1, min(_MOST_AT_ONCE, _CELLS_AT_ONCE // max(1, rows)))
    length: int | None = None
    for start in range(0, len(own), together):
        columns: list[pl.Series] = []
        for signal in _selected(mdf, number, own[start : start + together], found):
            if length is None:
                times = np.asarray(signal.timestamps, dtype=np.float64)
                length = times.size
                columns.append(pl.Series("time", times))
            read = _series(signal, str(len(columns)))
            if read is None or len(read[0]) != length:
                found.lost += 1
                continue
            series, invalid = read
            columns.append(series)
            unit = "" if series.dtype == pl.String else str(signal.unit or "")
            channel = {"name": str(signal.name), "unit": unit, "invalid": invalid}
            found.channels.append(channel)
        if length and columns:
            found.files.append(files.put(columns))
    return found if found.channels and length else Carried([], [], found.lost, found.refused)


def _selected(mdf: Any, number: int, wanted: Sequence[int], found: Carried) -> list[Any]:
    """The signals of some channels in order, those with a formula by ours."""
    channels = mdf.groups[number].channels
    own = [i for i in wanted if stored_alone(channels[i].conversion, mdf.version)]
    formulas = {i: formula_of(channels[i].conversion, mdf.version) for i in own}
    found.refused += [channels[i].name for i, formula in formulas.items() if formula is None]
    signals: dict[int, Any] = {}
    for raw, part in (
        (False, [i for i in wanted if i not in formulas]),
        (True, [i for i, formula in formulas.items() if formula is not None]),
    ):
        if part:
            places = [(None, number, i) for i in part]
            read = mdf.select(places, raw=raw, ignore_value2text_conversions=False)
            signals.update(zip(part, read, strict=True))
    for i, formula in formulas.items():
        if formula is not None and np.asarray(signals[i].samples).dtype.kind in "fiub":
            signals[i].samples = formula(np.asarray(signals[i].samples))
            signals[i].unit = signals[i].unit or getattr(channels[i].conversion, "unit", "")
    return [signals[i] for i in wanted if i in signals]


def _series(signal: Any, name: str) -> tuple[pl.Series, int] | None:
    """Samples as a column, in which those marked invalid are missing, and how many those are.

    None where they are no scalars.
    """
    samples = np.asarray(signal.samples)
    if samples.ndim != 1 or samples.dtype.names:
        return None
    if samples.dtype.kind in "fiub":
        series = pl.Series(name, samples.astype(samples.dtype.newbyteorder("=")))
    elif samples.dtype.kind in "SUO":
        series = pl.Series(name, [_text(cell) for cell in samples.tolist()], dtype=pl.String)
    else:
        return None
    invalid = signal.invalidation_bits
    if invalid is None:
        return series, 0
    bad = np.asarray(getattr(invalid, "samples", invalid), dtype=np.bool_)
    if bad.size != len(series) or not bad.any():
        return series, 0
    return series.set(pl.Series(bad), None), int(bad.sum())


def _text(cell: Any) -> str:
    if isinstance(cell, bytes):
        return cell.decode("utf-8", "replace").rstrip("\x00")
    return str(cell)
