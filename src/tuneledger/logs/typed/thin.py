"""A few rows of every column, from which the channels are told.

Nothing here needs numpy: a big file is on its way before that is imported.
"""

from typing import Protocol

import polars as pl

_ROWS = 400
_AT_ONCE = 40


class Table(Protocol):
    """A file of columns, each with a type. Implemented once per format."""

    @property
    def types(self) -> tuple[pl.DataType, ...]:
        """The type of each column, in file order."""
        ...

    def read(self, columns: list[int]) -> list[pl.Series]:
        """Whole columns. Raises what the format's library raises on a damaged file."""
        ...


def thinned(table: Table, keep: pl.Series | None = None) -> list[pl.Series]:
    """A few hundred rows of every column, evenly spread, in file order.

    They are read a few columns at a time, so that memory is kept. keep: the rows that count
    """
    out: list[pl.Series] = []
    width = len(table.types)
    places: dict[int, pl.Series] = {}
    for start in range(0, width, _AT_ONCE):
        for cells in table.read(list(range(start, min(start + _AT_ONCE, width)))):
            own = cells if keep is None else cells.filter(keep)
            if len(own) not in places:
                places[len(own)] = pl.Series(_places(len(own)), dtype=pl.UInt32)
            out.append(own.gather(places[len(own)]))
    return out


def _places(rows: int) -> list[int]:
    some = min(rows, _ROWS)
    return [i * (rows - 1) // max(1, some - 1) for i in range(some)]
