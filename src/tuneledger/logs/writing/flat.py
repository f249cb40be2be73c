"""Several groups in one flat table, for formats that have only one raster."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from tuneledger.arrays import FloatArray
from tuneledger.logs.delimited.names import numbered
from tuneledger.logs.writing.model import Table

TIME = "time [s]"


def flat_table(tables: Sequence[Table]) -> pl.DataFrame:
    """One row per instant at which any group has a sample; empty where a group has none there.

    Nothing is interpolated: a slow channel keeps its own samples. Times that a group has twice keep
    both rows where it is the only one.
    """
    times = _instants(tables)
    columns = [pl.Series(TIME, times)]
    headers = [column.header for table in tables for column in table.columns]
    names = iter(_distinct(headers))
    for table in tables:
        rows = _rows(times, table.times)
        for column in table.columns:
            values = np.full(times.shape, np.nan)
            values[rows] = column.values
            columns.append(pl.Series(next(names), values, nan_to_null=True))
    return pl.DataFrame(columns)


def _instants(tables: Sequence[Table]) -> FloatArray:
    if len(tables) == 1:
        return tables[0].times
    return np.unique(np.concatenate([table.times for table in tables]))


def _rows(times: FloatArray, own: FloatArray) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    if times is own:
        return np.arange(times.size)
    return np.searchsorted(times, own).astype(np.int64)


def _distinct(headers: Sequence[str]) -> list[str]:
    """Headers that a table can have side by side: a second of one name is numbered."""
    return [
        name if twin == 1 or name not in headers[:i] else f"{name} #{twin}"
        for i, (name, twin) in enumerate(numbered([TIME, *headers]))
    ][1:]
