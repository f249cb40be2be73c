"""Which rows are samples: comments, repeated headers, torn rows and the cut-off last line are not.

A row with too few or too many cells cannot be trusted: nobody knows which cell is missing. A few
of them (1 %) are left out and told; more make the log unusable.
"""

import re
from collections.abc import Sequence

import numpy as np
import polars as pl

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.errors import Fault
from tuneledger.logs.delimited.cells import bare, is_number, word_value
from tuneledger.logs.delimited.dialect import split
from tuneledger.logs.delimited.grid import Body, Grid
from tuneledger.logs.delimited.layout import Layout
from tuneledger.logs.source import Source
from tuneledger.record import record
from tuneledger.wording import count, visible

_MOST_TORN = 0.01
_MOST_TIMELESS = 0.05
_SPARSE = 0.5
_HABIT = 0.5
_LOOKED_AT = 200  # rows without a time
_ENDS = re.compile(r"\r\n|\n|\r")


@record(eq=False)
class Rows:
    """`keep`: rows of the table that are samples."""

    keep: BoolArray
    notes: tuple[str, ...]


def find_rows(
    source: Source, encoding: str, layout: Layout, body: Body, stamps: FloatArray
) -> Rows | Fault:
    """Judge every row. stamps: the time of each, NaN where it has none."""
    keep: BoolArray = np.isfinite(stamps)
    notes = list(body.notes)
    timeless = ~keep if keep.all() else ~keep & _filled(body.grid, layout)
    if timeless.sum() > max(2.0, _MOST_TIMELESS * keep.size):
        return _fault_timeless(timeless, layout)
    if timeless.any():
        notes.append(_note_timeless(body.grid, timeless, layout))
    cut = cut_off(source, encoding, layout)
    if cut is not None and keep.size:
        if keep[-1]:
            notes.append(f"the last line is cut off ({cut}); it is left out")
        keep[-1] = False
    torn = _torn(body, layout) & keep
    if torn.any():
        if torn.sum() > max(1.0, _MOST_TORN * keep.size):
            return _fault_torn(body, torn, keep, layout)
        first = _line(int(np.flatnonzero(torn)[0]), layout)
        notes.append(
            f"{count(int(torn.sum()), 'row')} with too few or too many cells left out "
            f"(first: line {first})"
        )
        keep &= ~torn
    return Rows(keep, tuple(notes))


def _line(row: int, layout: Layout) -> int:
    return layout.first + row + 1


def _filled(grid: Grid, layout: Layout) -> BoolArray:
    """Rows with any cell at all: blank lines, and padding of zero bytes, are none."""
    first = grid.column(0).str.strip_chars(" \t\x00\x1a")
    some = (first.is_not_null() & (first != "")).fill_null(False)
    for i in range(1, layout.width):
        if some.all():
            break
        some |= grid.column(i).is_not_null()
    return np.asarray(some.to_numpy(), dtype=np.bool_)


def _fault_timeless(timeless: BoolArray, layout: Layout) -> Fault:
    row = int(np.flatnonzero(timeless)[0])
    return Fault(
        f"{int(timeless.sum())} of {timeless.size} rows have no time that can be read",
        place=f"first in line {_line(row, layout)}",
        expected="a time in every row",
        do="Export the log again with its time in every row.",
    )


def _note_timeless(grid: Grid, timeless: BoolArray, layout: Layout) -> str:
    rows = np.flatnonzero(timeless)
    header = [cell.casefold() for cell in layout.header if cell]
    shown = [_cells(row) for row in grid.some(range(grid.width), rows[:_LOOKED_AT]).rows()]
    again = all([cell.casefold() for cell in cells[: len(header)]] == header for cells in shown)
    lines = [str(_line(int(row), layout)) for row in rows[:3]]
    lines += ["…"] if rows.size > 3 else []
    what = "the header again" if again else "no time"
    which = "line" if rows.size == 1 else "lines"
    first = visible(next((cell[:30] for cell in shown[0] if cell), ""))
    return (
        f"{count(int(rows.size), 'row')} with {what} left out ({which} {', '.join(lines)}"
        f": '{first}')"
    )


def _cells(row: tuple[str | None, ...]) -> list[str]:
    return [bare(cell) for cell in row if cell]


def _torn(body: Body, layout: Layout) -> BoolArray:
    """Rows with another number of cells than the header has names."""
    if body.counts is None:
        return np.zeros(body.grid.height, dtype=np.bool_)
    cells, trailing = body.counts.cells, body.counts.trailing
    named = min(len(layout.header), layout.width)
    most = max(layout.width, len(layout.header))
    long = (cells > most + trailing) & (cells > 1)
    short = cells < _fewest(body.grid, cells, named)
    return short | long


def _fewest(grid: Grid, cells: IntArray, named: int) -> int:
    """Cells that a row must have: empty ones may be left off at the end, where that is the habit.

    It is where the columns at the end are empty in most whole rows too, or where most rows end
    early and no whole row ends with an empty cell.
    """
    short = cells < named
    whole = pl.Series(~short)
    if not short.any() or not whole.any():
        return named
    if short.mean() > _HABIT and grid.column(named - 1).filter(whole).null_count() == 0:
        return int(cells[cells > 1].min())
    fewest = named
    while fewest > 1:
        column = grid.column(fewest - 1).filter(whole)
        if column.null_count() <= _SPARSE * len(column):
            break
        fewest -= 1
    return fewest


def _fault_torn(body: Body, torn: BoolArray, keep: BoolArray, layout: Layout) -> Fault:
    row = int(np.flatnonzero(torn)[0])
    has = int(body.counts.cells[row]) if body.counts else 0
    named = len(layout.header)
    return Fault(
        f"{int(torn.sum())} of {int(keep.sum())} rows have another number of cells than the "
        f"header; the first has {has}, the header {named}",
        place=f"line {_line(row, layout)}",
        expected="one cell for every name of the header in each row",
        do="Export it again; a decimal comma between commas, or text with a comma in it, "
        "does this too.",
    )


def cut_off(source: Source, encoding: str, layout: Layout) -> str | None:
    """Why the last line cannot be trusted, or None where it is whole.

    Without a line end, `2.` may have been `2.75`. It is whole where it shows that nothing follows:
    the delimiter that ends every row, a switch's whole word, or as many decimals as in the rows
    before.
    """
    text = source.tail.decode(encoding, errors="replace").rstrip("\x00\x1a")
    if not text or text[-1] in "\r\n":
        return None
    *before, last = _ENDS.split(text)[-8:]
    rows = [split(line, layout.delimiter) for line in before[1:] if line.strip()]
    cells = split(last, layout.delimiter)
    if not rows or len(cells) < len(rows[-1]):
        return "it has too few cells"
    if cells[-1] == "" and all(row[-1] == "" for row in rows) and len(cells) == len(rows[-1]):
        return None
    if _complete(cells[-1], [row[-1] for row in rows]):
        return None
    return "the file does not end with a line end"


def _complete(cell: str, above: Sequence[str]) -> bool:
    if not cell or not all(above):
        return False
    if all(word_value(bare(text)) is not None for text in above):
        return word_value(bare(cell)) is not None
    decimals = {_decimals(text) for text in above}
    return len(decimals) == 1 and _decimals(cell) in decimals and _decimals(cell) > 0


def _decimals(text: str) -> int:
    """Digits after the decimal mark; 0 for what is no such number."""
    text = bare(text)
    if not (is_number(text, ".") or is_number(text, ",")):
        return 0
    return len(text) - 1 - max(text.rfind("."), text.rfind(",")) if {".", ","} & set(text) else 0
