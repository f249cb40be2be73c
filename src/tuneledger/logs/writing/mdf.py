"""ASAM MDF 4.10, written by asammdf: every group on its own raster, units kept."""

import warnings
from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime
from importlib.util import find_spec
from pathlib import Path
from typing import Any, BinaryIO

from tuneledger.errors import Fault, OutputError
from tuneledger.logs.writing.model import Table
from tuneledger.logs.writing.staged import Staged, no_room_for_output
from tuneledger.private import PrivateFolder

ENDINGS = (".mf4", ".mdf")
_UNKNOWN = datetime(1970, 1, 1)  # a local time, so that no zone moves it


def check_installed(path: Path) -> None:
    """Raises OutputError where the extra that writes MDF is not there."""
    if find_spec("asammdf") is None:
        raise OutputError(
            Fault(
                "this is to be an ASAM MDF file, and what writes those is not installed",
                file=str(path),
                do="Install the extra 'mdf' (pip install asammdf); or write .parquet or .csv.",
            )
        )


def write_mdf(tables: Sequence[Table], file: BinaryIO, began: datetime | None = None) -> None:
    """Write the tables into an open file; missing values are NaN there.

    Some rows at a time: what is in memory does not grow with the tables.

    began: the moment from which their times count. The format has no way to leave it out: where
           nobody knows it, it is 0, the beginning of 1970.
    """
    folder = PrivateFolder()
    try:
        whole = _laid_down(tables, folder.path, began or _UNKNOWN)
    except OSError as problem:
        raise no_room_for_output(problem) from problem
    with whole.open("rb") as done:
        while piece := done.read(1 << 20):
            file.write(piece)
    folder.remove()


def _laid_down(tables: Sequence[Table], folder: Path, began: datetime) -> Path:
    """The whole file in a folder."""
    warnings.simplefilter("ignore")
    from asammdf import MDF

    mdf = MDF(version="4.10", temporary_folder=str(folder))
    try:
        mdf.header.start_time = began  # the library would put the present moment there
        group = 0
        for table in tables:
            if table.columns:
                _append(mdf, group, table)
                group += 1
        return Path(mdf.save(folder / "whole.mf4"))
    finally:
        with suppress(OSError):  # on a full disk; as a context the library would print a trace
            mdf.close()


def _append(mdf: Any, group: int, table: Table) -> None:
    from asammdf import Signal

    staged = Staged(table.times.size)
    staged.put(table.times)
    for column in table.columns:
        staged.put(column.read())
    for number, (times, *values) in enumerate(staged.parts()):
        if number:
            mdf.extend(group, [(part, None) for part in (times, *values)])
            continue
        signals = [
            Signal(part, times, unit=column.unit, name=column.name)
            for column, part in zip(table.columns, values, strict=True)
        ]
        mdf.append(signals, acq_name=table.title, comment=table.title, common_timebase=True)
