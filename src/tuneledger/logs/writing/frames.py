"""A table that comes some rows at a time, written as delimited text, Parquet or Arrow."""

import io
from collections.abc import Iterable, Iterator
from itertools import chain
from typing import IO, Any, BinaryIO, cast

import polars as pl
from polars.exceptions import PolarsError
from polars.io.plugins import register_io_source

_CELLS_IN_A_GROUP = 8_000_000


def write_frames(frames: Iterable[pl.DataFrame], ending: str, file: BinaryIO) -> None:
    """Write frames of the same columns as one table; `ending` is .csv, .parquet or .arrow.

    No more than a few frames are in memory at any time. OSError where the disk refuses it.
    """
    rest = iter(frames)
    first = next(rest, pl.DataFrame())
    whole = chain([first], rest)
    if ending == ".csv":
        _as_text(whole, file)
    elif ending in (".parquet", ".arrow"):
        _sunk(whole, first, ending, file)
    else:
        raise ValueError(ending)


def _as_text(frames: Iterable[pl.DataFrame], file: BinaryIO) -> None:
    """Through memory, since polars hides why a disk refused it."""
    for number, frame in enumerate(frames):
        buffer = io.BytesIO()
        frame.write_csv(buffer, include_header=number == 0)
        file.write(buffer.getbuffer())


def _sunk(frames: Iterator[pl.DataFrame], first: pl.DataFrame, ending: str, file: BinaryIO) -> None:
    """By polars, which asks for the frames as it writes."""
    told = _Told(file)
    scan = _scan(frames, first.schema, told)
    rows = max(1000, _CELLS_IN_A_GROUP // max(1, first.width))
    try:
        if ending == ".parquet":
            scan.sink_parquet(cast(IO[bytes], told), row_group_size=rows)
        else:
            scan.sink_ipc(cast(IO[bytes], told), record_batch_size=rows)
    except (PolarsError, OSError):
        if told.problem is None:
            raise
        raise told.problem from None


def _scan(frames: Iterator[pl.DataFrame], schema: pl.Schema, told: "_Told") -> pl.LazyFrame:
    def source(
        columns: list[str] | None, predicate: Any, rows: int | None, batch: int | None
    ) -> Iterator[pl.DataFrame]:
        try:
            yield from frames
        except Exception as problem:
            told.problem = problem
            raise

    return register_io_source(source, schema=schema)


class _Told:
    """An open file that remembers why it could not be written: polars says it in words of its own.

    problem: the first that came up, in the file or where the frames come from
    """

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self.problem: Exception | None = None

    def write(self, data: bytes) -> int:
        try:
            return self._file.write(data)
        except OSError as problem:
            self.problem = problem
            raise

    def tell(self) -> int:
        return self._file.tell()

    def flush(self) -> None:
        self._file.flush()

    def close(self) -> None:
        """It stays open: whoever opened it closes it."""
