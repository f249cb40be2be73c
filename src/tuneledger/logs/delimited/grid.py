"""The cells of a log as text, one row per line: in memory, or on disk where they are many.

A cell takes some 25 bytes in memory, three to five times what it takes in its file. Beyond a
hundred megabytes the cells are therefore written column by column into a private folder while the
file is read, and a column comes back when it is asked for.
"""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import polars as pl
from polars.exceptions import PolarsError

from tuneledger.logs.delimited.layout import Layout
from tuneledger.logs.source import Source
from tuneledger.logs.typed.lazily import LazyTable
from tuneledger.private import PrivateFolder, no_room
from tuneledger.record import record

if TYPE_CHECKING:  # a file is on its way before numpy is imported
    from tuneledger.arrays import IntArray
    from tuneledger.logs.delimited.linecount import Counts

IN_MEMORY = 128 << 20  # bytes of a file
_CELLS_TOGETHER = 4_000_000  # written, or read to pick rows out of them
_BY_THE_SYSTEM = re.compile(r"([^:]*) \(os error \d+\)")  # how polars tells of a disk's refusal


class Grid(Protocol):
    """Rows and columns of text; null where a cell is empty or was not there."""

    @property
    def height(self) -> int:
        """How many rows there are."""
        ...

    @property
    def width(self) -> int:
        """How many columns there are."""
        ...

    def column(self, column: int) -> pl.Series:
        """Every row of a column."""
        ...

    def head(self, column: int, rows: int) -> pl.Series:
        """The first rows of a column."""
        ...

    def some(self, columns: Sequence[int], rows: "list[int] | IntArray") -> pl.DataFrame:
        """Some rows of columns, in the order that is asked for; each named by its number."""
        ...


class InMemory:
    """A `Grid` that is held."""

    def __init__(self, frame: pl.DataFrame) -> None:
        self._frame = frame
        self.height, self.width = frame.shape

    def column(self, column: int) -> pl.Series:
        return self._frame.to_series(column)

    def head(self, column: int, rows: int) -> pl.Series:
        return self._frame.to_series(column).head(rows)

    def some(self, columns: Sequence[int], rows: "list[int] | IntArray") -> pl.DataFrame:
        return self._frame.select(pl.nth(list(columns)).gather(rows))


class OnDisk:
    """A `Grid` in a private folder, which goes with it. LogError where that is gone or broken."""

    def __init__(self, source: Source, path: Path, folder: PrivateFolder) -> None:
        self._folder = folder
        self._table = LazyTable(source, pl.scan_parquet(path, glob=False))
        self.height, self.width = self._table.height(), len(self._table.headers)

    def column(self, column: int) -> pl.Series:
        return self._table.read([column])[0]

    def head(self, column: int, rows: int) -> pl.Series:
        return self._table.read([column], rows)[0]

    def some(self, columns: Sequence[int], rows: "list[int] | IntArray") -> pl.DataFrame:
        together = max(1, _CELLS_TOGETHER // max(1, self.height))
        found: list[pl.Series] = []
        for start in range(0, len(columns), together):
            part = self._table.read(list(columns[start : start + together]))
            found += [cells.gather(rows) for cells in part]
        return pl.DataFrame(found)


@record(eq=False)
class Body:
    """The samples as text.

    grid:    a row per line
    counts:  cells in every line; None where every row is known to be whole
    notes:   what had to be mended
    """

    grid: Grid
    counts: "Counts | None"
    notes: tuple[str, ...] = ()


def read_grid(
    source: Source,
    path: Path,
    layout: Layout,
    *,
    skip: int,
    quote: bool,
    end: str = "\n",
    mended: bool = False,
) -> Grid:
    """Every line of `path` but the first ones as a row, columns "0", "1", …

    source: for messages, what `path` is or was made of
    skip:   lines left out
    mended: a copy whose rows may be too long, and whose first row, a whole one, is left out

    PolarsError or OSError where it is no such table, LogError where the disk has no room for it.
    """
    scan = pl.scan_csv(
        path,
        has_header=False,
        separator=layout.delimiter,
        quote_char='"' if quote else None,
        skip_lines=skip,
        schema={str(i): pl.String for i in range(layout.width)},
        eol_char=end,
        truncate_ragged_lines=mended,
        glob=False,
    ).slice(1 if mended else 0)
    if path.stat().st_size <= IN_MEMORY:
        return InMemory(scan.collect())
    return _put_away(source, scan, layout.width)


def _put_away(source: Source, scan: pl.LazyFrame, width: int) -> OnDisk:
    """Written as it is read: what is in memory meanwhile does not grow with the file."""
    folder = PrivateFolder()
    target = folder.new_file()
    try:
        scan.sink_parquet(
            target,
            compression="lz4",
            statistics=False,
            row_group_size=max(1000, _CELLS_TOGETHER // width),
        )
    except PolarsError as problem:
        refused = _BY_THE_SYSTEM.search(str(problem))
        if refused is None:
            raise
        raise no_room(source.name, refused[1]) from problem
    return OnDisk(source, target, folder)
