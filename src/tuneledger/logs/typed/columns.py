"""Columns that know their types; one is read from its file when somebody asks for it."""

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np
import polars as pl

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.logs.delimited.cast import Cast, cast
from tuneledger.logs.delimited.cells import bare, is_missing
from tuneledger.logs.delimited.clock import is_clock
from tuneledger.logs.delimited.clocktimes import read_clock
from tuneledger.logs.delimited.dialect import is_value
from tuneledger.logs.model import NOT_READ
from tuneledger.logs.typed.text import as_text, is_text
from tuneledger.logs.typed.thin import Table, thinned
from tuneledger.wording import count, visible

_AT_ONCE = 24
_MOST_WORDS = 8
_PER_SECOND = {"ms": 1e3, "us": 1e6, "ns": 1e9}


class _Thin(NamedTuple):
    values: FloatArray
    words: tuple[str, ...]


class TypedColumns:
    """`Columns` over a table.

    names:   column → channel name, for notes
    few:     a few rows of every column, where they were read already
    missing: column → what of it does not stand in the table any more, in words
    """

    def __init__(
        self,
        table: Table,
        names: Mapping[int, str],
        few: Sequence[pl.Series] | None = None,
        missing: Mapping[int, str] | None = None,
    ) -> None:
        self._table = table
        self._names = dict(names)
        self._few = few
        self._missing = dict(missing or {})
        self._notes: dict[int, str] = {}
        self._keep: BoolArray | None = None

    def keep_only(self, rows: BoolArray) -> None:
        """Leave rows out of all that is given from now on: those that have no time."""
        if not rows.all():
            self._keep = rows
            self._few = None
            self.__dict__.pop("_thin", None)

    def cells(self, column: int) -> pl.Series:
        """A column as it is stored, without the rows left out."""
        return self._kept(self._table.read([column])[0])

    def numbers(self, column: int) -> FloatArray:
        """Every row of a column; NaN where it is missing or not a number; switches are 1 and 0."""
        result = as_numbers(self.cells(column))
        bad = int(result.bad.sum())
        said = [self._missing[column]] if column in self._missing else []
        if bad and np.isfinite(result.values).any():
            said.append(f"{count(bad, 'cell')} {NOT_READ}")
        if said:
            name = visible(self._names.get(column, f"column {column + 1}"))
            self._notes[column] = f"{name}: {'; '.join(said)}"
        return result.values

    def sample(self, column: int) -> FloatArray:
        """A few hundred rows, evenly spread, in file order; read-only."""
        return self._thin[column].values

    def some(self, columns: Sequence[int], rows: IntArray) -> dict[int, FloatArray]:
        """Some rows of columns that are stored as numbers; a few columns at a time."""
        out: dict[int, FloatArray] = {}
        stored = [i for i in columns if self._table.types[i].is_numeric()]
        for start in range(0, len(stored), _AT_ONCE):
            part = stored[start : start + _AT_ONCE]
            for column, cells in zip(part, self._table.read(part), strict=True):
                out[column] = as_numbers(self._kept(cells).gather(rows)).values
        return out

    def words(self, column: int) -> tuple[str, ...]:
        """Up to eight distinct cells of the thin sample that are neither numbers nor missing.

        A column of true and false is a switch, and says so with both words.
        """
        return self._thin[column].words

    def notes(self) -> tuple[str, ...]:
        """What the columns read so far held that is no number."""
        return tuple(self._notes[column] for column in sorted(self._notes))

    def is_clock(self, column: int) -> bool:
        """Whether a column of text holds clock times."""
        if self._table.types[column] != pl.String:
            return False
        first = as_text(self.cells(column).head(50).drop_nulls())
        return any(is_clock(bare(text)) for text in first if not is_missing(text))

    @cached_property
    def _thin(self) -> list[_Thin]:
        """What a few rows of every column hold."""
        keep = None if self._keep is None else pl.Series(self._keep)
        few = thinned(self._table, keep) if self._few is None else self._few
        return [_looked_at(cells) for cells in few]

    def _kept(self, cells: pl.Series) -> pl.Series:
        return cells if self._keep is None else cells.filter(pl.Series(self._keep))


def _looked_at(cells: pl.Series) -> _Thin:
    values = as_numbers(cells).values
    values.setflags(write=False)
    return _Thin(values, _words(cells))


def as_numbers(cells: pl.Series) -> Cast:
    """A stored column as numbers: times in seconds, true and false as 1 and 0, text as it reads.

    What is neither (lists, records, bytes) is NaN and counts as bad.
    """
    kind = cells.dtype
    if is_text(kind):
        text = as_text(cells)
        first = next((t for t in text.head(50).drop_nulls() if not is_missing(t)), "")
        if is_clock(bare(first)):
            seconds = read_clock(text).seconds
            return Cast(seconds, np.isnan(seconds) & text.is_not_null().to_numpy())
        return cast(text, ".")
    if isinstance(kind, pl.Datetime | pl.Duration):
        return _good(_floats(cells.to_physical()) / _PER_SECOND[kind.time_unit or "us"])
    if kind == pl.Time:
        return _good(_floats(cells.to_physical()) / 1e9)
    if kind.is_numeric() or kind == pl.Boolean:
        return _good(_floats(cells))
    values = np.full(len(cells), np.nan)
    return Cast(values, np.asarray(cells.is_not_null().to_numpy(), dtype=np.bool_))


def _good(values: FloatArray) -> Cast:
    values[~np.isfinite(values)] = np.nan
    return Cast(values, np.zeros(values.shape, dtype=np.bool_))


def _floats(cells: pl.Series) -> FloatArray:
    return np.array(cells.cast(pl.Float64, strict=False).to_numpy(), dtype=np.float64)


def _words(cells: pl.Series) -> tuple[str, ...]:
    if cells.dtype == pl.Boolean:
        return ("false", "true")
    if not is_text(cells.dtype):
        return ()
    distinct = as_text(cells).unique(maintain_order=True).drop_nulls()
    found = [bare(text) for text in distinct if not is_missing(text) and not is_value(text)]
    return tuple(dict.fromkeys(found))[:_MOST_WORDS]
