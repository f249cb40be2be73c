"""The cells of a log, kept as text; a column becomes numbers when somebody asks for it."""

from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np
import polars as pl

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.logs.delimited.cast import Cast, cast, cast_plain_columns
from tuneledger.logs.delimited.cells import bare, is_missing
from tuneledger.logs.delimited.clock import is_clock
from tuneledger.logs.delimited.clocktimes import read_clock
from tuneledger.logs.delimited.dialect import is_value
from tuneledger.logs.delimited.grid import Grid
from tuneledger.logs.model import NOT_READ
from tuneledger.wording import count, listing, visible

_THIN = 400
_AT_ONCE = 32
_MOST_WORDS = 8
_MOSTLY = 0.5


class TextColumns:
    """`Columns` over a table of text.

    grid:    a row per line
    decimal: the file's decimal mark
    names:   column → channel name, for notes
    first_line: number of the file's line in which row 0 stands
    """

    def __init__(
        self, grid: Grid, decimal: str, names: Mapping[int, str], *, first_line: int
    ) -> None:
        self._grid = grid
        self._decimal = decimal
        self._names = dict(names)
        self._first_line = first_line
        self._keep: BoolArray | None = None
        self._thin: dict[int, FloatArray] = {}
        self._notes: dict[int, str] = {}

    def keep_only(self, rows: BoolArray) -> None:
        """Leave rows out of all that is given from now on: what is no sample."""
        self._notes.clear()
        if rows.all():
            return
        self._keep = rows
        self._thin.clear()
        for cached in ("_sample_frame", "_plain"):
            self.__dict__.pop(cached, None)

    def cells(self, column: int) -> pl.Series:
        """The text of a column, rows left out included."""
        return self._grid.column(column)

    def numbers(self, column: int) -> FloatArray:
        """Every row of a column; NaN where it is missing or not a number; switches are 1 and 0.

        Clock times are seconds of the day.
        """
        cells = self.cells(column)
        result = self._clock(cells, column) or cast(cells, self._decimal)
        self._note(column, result, cells)
        return result.values if self._keep is None else result.values[self._keep]

    def sample(self, column: int) -> FloatArray:
        """A few hundred rows, evenly spread, in file order; read-only."""
        if column not in self._thin:
            values = self._plain.get(column)
            if values is None:
                cells = self._sample_frame.to_series(column)
                result = self._clock(cells, column) or cast(cells, self._decimal)
                # What few rows leave open, all rows of the column decide.
                values = result.values if result.settled else self.numbers(column)[self._places]
            values.setflags(write=False)
            self._thin[column] = values
        return self._thin[column]

    def some(self, columns: Sequence[int], rows: IntArray) -> dict[int, FloatArray]:
        """Some rows of those columns that are plain numbers in all of them; a few columns at a
        time, so that memory is kept."""
        places = rows if self._keep is None else np.flatnonzero(self._keep)[rows]
        found: dict[int, FloatArray] = {}
        for start in range(0, len(columns), _AT_ONCE):
            part = list(columns[start : start + _AT_ONCE])
            cells = self._grid.some(part, places)
            plain = cast_plain_columns(cells, self._decimal)
            found |= {part[position]: values for position, values in plain.items()}
        return found

    def words(self, column: int) -> tuple[str, ...]:
        """Up to eight distinct cells of the thin sample that are neither numbers nor missing."""
        distinct = self._sample_frame.to_series(column).unique(maintain_order=True).drop_nulls()
        found = [bare(text) for text in distinct if not is_missing(text) and not is_value(text)]
        return tuple(dict.fromkeys(found))[:_MOST_WORDS]

    def notes(self) -> tuple[str, ...]:
        """What the columns read so far had to have decided for them, or held that is no number."""
        return tuple(self._notes[column] for column in sorted(self._notes))

    @property
    def _places(self) -> IntArray:
        """The thin sample's rows, counted among the rows that are kept."""
        kept = self._grid.height if self._keep is None else int(self._keep.sum())
        return np.linspace(0, max(0, kept - 1), min(kept, _THIN)).astype(np.int64)

    @cached_property
    def _sample_frame(self) -> pl.DataFrame:
        places = self._places
        rows = places if self._keep is None else np.flatnonzero(self._keep)[places]
        return self._grid.some(range(self._grid.width), rows)

    @cached_property
    def _plain(self) -> dict[int, FloatArray]:
        return cast_plain_columns(self._sample_frame, self._decimal)

    def is_clock(self, column: int) -> bool:
        """Whether the column holds clock times."""
        cells = self._grid.head(column, 50).to_list()
        first = next((text for text in cells if text is not None and not is_missing(text)), "")
        return is_clock(bare(first))

    def _clock(self, cells: pl.Series, column: int) -> Cast | None:
        if not self.is_clock(column):
            return None
        seconds = read_clock(cells).seconds
        bad = np.isnan(seconds) & np.asarray(cells.is_not_null().to_numpy(), dtype=np.bool_)
        return Cast(seconds, bad)

    def _note(self, column: int, result: Cast, cells: pl.Series) -> None:
        bad = result.bad if self._keep is None else result.bad & self._keep
        parts = [result.says] if result.says else []
        number, read = int(bad.sum()), int(np.isfinite(result.values).sum())
        if number and read and number < _MOSTLY * (number + read):
            row = int(np.flatnonzero(bad)[0])
            shown = visible(str(cells[row]).strip())[:40]
            line = self._first_line + row
            parts.append(f"{count(number, 'cell')} {NOT_READ} (first in line {line}: '{shown}')")
        if parts:
            self._notes[column] = f"{visible(self._names[column])}: {listing(parts)}"
