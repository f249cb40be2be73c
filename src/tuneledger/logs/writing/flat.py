"""Several groups in one flat table, for formats that have only one raster."""

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import polars as pl

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.logs.delimited.names import numbered
from tuneledger.logs.writing.model import Table
from tuneledger.logs.writing.staged import Staged

TIME = "time [s]"


def flat_parts(
    tables: Sequence[Table], spelled: Callable[[str], str] = str
) -> Iterator[pl.DataFrame]:
    """One row per instant at which any group has a sample; empty where a group has none there.

    Some rows at a time, so that no more than those, and one column, are in memory. Nothing is
    interpolated: a slow channel keeps its own samples. Times that a group has twice keep both rows
    where it is the only one.

    spelled: a header as the format has it; what is spelled alike is numbered
    """
    times = _instants(tables)
    staged = Staged(times.size)
    staged.put(times)
    for table in tables:
        rows = None if times is table.times else np.searchsorted(times, table.times)
        for column in table.columns:
            staged.put(_spread(column.read(), rows, times.size))
    headers = [spelled(column.header) for table in tables for column in table.columns]
    names = [TIME, *_distinct(headers)]
    for part in staged.parts():
        columns = [
            pl.Series(name, values, nan_to_null=number > 0)
            for number, (name, values) in enumerate(zip(names, part, strict=True))
        ]
        yield pl.DataFrame(columns)


def _instants(tables: Sequence[Table]) -> FloatArray:
    if len(tables) == 1:
        return tables[0].times
    return np.unique(np.concatenate([table.times for table in tables]))


def _spread(own: FloatArray, rows: "IntArray | None", size: int) -> FloatArray:
    """Values at their rows, NaN at all others."""
    if rows is None:
        return own
    values = np.full(size, np.nan)
    values[rows] = own
    return values


def _distinct(headers: Sequence[str]) -> Iterator[str]:
    """Headers that a table can have side by side: a second of one name is numbered.

    Those that differ in case alone stay as they are.
    """
    taken = {TIME}
    for (name, _), header in zip(numbered([TIME, *headers])[1:], headers, strict=True):
        own = name if header in taken else header
        taken.add(own)
        yield own
