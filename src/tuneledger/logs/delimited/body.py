"""All samples of a log as text, read once; one row per line of the file.

The straight way reads the file from where it lies. Whatever that trips over (bytes that are no
UTF-8, lone carriage returns, rows that are too long, a stray quote) is mended in a copy first.
"""

from typing import TYPE_CHECKING

from polars.exceptions import PolarsError

from tuneledger.logs.delimited.grid import Body, Grid, read_grid
from tuneledger.logs.delimited.layout import Layout
from tuneledger.logs.delimited.text import Text
from tuneledger.logs.source import Source, unreadable

if TYPE_CHECKING:
    from tuneledger.logs.delimited.linecount import Counts

_INDIRECT = ("utf-16", "utf-16-le", "utf-16-be")  # ASCII is not written as ASCII in them


def read_body(source: Source, text: Text, layout: Layout) -> Body:
    """Read all samples. LogError if the file has gone or cannot be read as a table at all."""
    if text.ends != "mixed" and text.encoding not in _INDIRECT and not text.dress:
        try:
            grid = read_grid(
                source,
                source.path,
                layout,
                skip=layout.first,
                quote=layout.quoted,
                end=_end(text),
            )
        except PolarsError:
            pass  # read the careful way, below
        except OSError as problem:
            raise unreadable(source.path, problem) from problem
        else:
            return Body(grid, _counts_where_needed(source, text, layout, grid))
    from tuneledger.logs.delimited.careful import read_carefully

    return read_carefully(source, text, layout)


def _end(text: Text) -> str:
    return "\r" if text.ends == "CR" else "\n"


def _counts_where_needed(source: Source, text: Text, layout: Layout, grid: Grid) -> "Counts | None":
    """Cells per line, if the last named column is empty somewhere: a row may have ended early."""
    named = min(len(layout.header), layout.width)
    if grid.column(named - 1).null_count() == 0:
        return None
    from tuneledger.logs.delimited.linecount import count_cells_in_file

    try:
        counts = count_cells_in_file(
            source.path,
            layout.delimiter,
            quoted=layout.quoted,
            end=_end(text),
            offset=offset(source.head, layout.first, _end(text).encode()),
        )
    except OSError as problem:
        raise unreadable(source.path, problem) from problem
    return counts if counts.cells.size == grid.height else None


def offset(data: bytes, lines: int, end: bytes = b"\n") -> int:
    """Where the line after so many lines begins."""
    at = 0
    for _ in range(lines):
        at = data.index(end, at) + 1
    return at
