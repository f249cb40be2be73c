"""Delimited text that is no log: a table of a few rows without time, such as readings by hand.

It may come in all the dresses in which logs come, since the same parts read it.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.bounded import SHEET_BYTES, at_most, how_to_raise
from tuneledger.errors import Fault, LogError
from tuneledger.logs.delimited import why_not
from tuneledger.logs.delimited.body import read_body
from tuneledger.logs.delimited.channels import find_channels, name_notes
from tuneledger.logs.delimited.columns import TextColumns
from tuneledger.logs.delimited.grid import Body
from tuneledger.logs.delimited.layout import Layout
from tuneledger.logs.delimited.plan import Plan, columns_fault, decimal_mark, plan
from tuneledger.logs.limits import bytes_text
from tuneledger.logs.model import Channel
from tuneledger.logs.source import Source
from tuneledger.record import record

_MOST_BYTES = SHEET_BYTES  # rows are written by hand


@record(eq=False)
class Table:
    """Columns with their names and units, and the rows that hold anything.

    lines: the file's line, counted from 1, of every row
    """

    file: str
    channels: tuple[Channel, ...]
    lines: IntArray
    _columns: TextColumns
    _rows: IntArray

    def numbers(self, channel: Channel) -> FloatArray:
        """Every row of a column; NaN where it is empty or not a number."""
        return self._columns.numbers(channel.column)[self._rows]

    def cells(self, channel: Channel) -> list[str | None]:
        """The same as it is written."""
        return self._columns.cells(channel.column).gather(self._rows).to_list()

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences about names, and about cells of the columns read so far."""
        return (*name_notes(self.channels), *self._columns.notes())


def read_table(source: Source) -> Table:
    """Read a table. LogError where it is none or too large, with the place and what to do."""
    if source.size > at_most(_MOST_BYTES):
        expected = f"at most {bytes_text(at_most(_MOST_BYTES))}"
        says = "the table is too large"
        raise LogError(Fault(says, file=source.name, expected=expected, do=how_to_raise()))
    found = plan(source)
    if not isinstance(found, Plan):
        fault = why_not(source)
        assert fault is not None
        raise LogError(
            replace(fault, expected="a table: one header row of names, then rows of numbers")
        )
    layout = found.layout
    fault = columns_fault(layout)
    if fault is not None:
        raise LogError(replace(fault, file=source.name))
    channels = find_channels(source.name, layout)
    body = read_body(source, found.text, layout)
    columns = TextColumns(
        body.grid,
        decimal_mark(source, layout).value,
        {channel.column: channel.name for channel in channels},
        first_line=layout.first + 1,
    )
    rows = _filled(body, layout, channels)
    return Table(source.name, channels, rows + layout.first + 1, columns, rows)


def _filled(body: Body, layout: Layout, channels: Sequence[Channel]) -> IntArray:
    """Rows with any cell at all."""
    some = np.zeros(body.grid.height, dtype=np.bool_)
    for channel in channels:
        cells = body.grid.column(channel.column).str.strip_chars(" \t\x00\x1a")
        some |= (cells.is_not_null() & (cells != "")).fill_null(False).to_numpy()
    return np.flatnonzero(some).astype(np.int64)
