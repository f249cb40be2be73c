"""Samples that the straight way of reading trips over, mended in a copy first.

The copy is UTF-8 with plain line ends and lies in a private folder, so that a long file is never
in memory as a whole.
"""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
from polars.exceptions import PolarsError

from tuneledger.errors import Fault, LogError
from tuneledger.logs.delimited.grid import Body, read_grid
from tuneledger.logs.delimited.layout import Layout
from tuneledger.logs.delimited.linecount import count_cells_in_file
from tuneledger.logs.delimited.plain import plain
from tuneledger.logs.delimited.text import Text
from tuneledger.logs.source import Source, unreadable
from tuneledger.private import PrivateFolder, no_room
from tuneledger.wording import count

_PIECE = 1 << 22  # characters


def read_carefully(source: Source, text: Text, layout: Layout) -> Body:
    """Read all samples. LogError if the file has gone or cannot be read as a table at all."""
    folder = PrivateFolder()
    copy = folder.new_file()
    try:
        encoding, notes = _sure_encoding(source, text.encoding)
    except OSError as problem:
        raise unreadable(source.path, problem) from problem
    quotes = _write(source, _pieces(source, text, layout, encoding), copy)
    for quoted in (True, False) if quotes and quotes % 2 == 0 else (False,):
        try:
            grid = read_grid(source, copy, layout, skip=0, quote=quoted, mended=True)
        except PolarsError:
            continue
        counts = count_cells_in_file(
            copy, layout.delimiter, quoted=quoted, end="\n", offset=len(_whole_row(layout))
        )
        return Body(grid, counts if counts.cells.size == grid.height else None, notes)
    raise LogError(
        Fault(
            "its rows cannot be told apart",
            file=source.name,
            place=f"below line {layout.first + 1}",
            expected="one row of cells per line",
            do="Export it again; it may have been cut or edited.",
        )
    )


def _pieces(source: Source, text: Text, layout: Layout, encoding: str) -> Iterator[str]:
    """The samples in whole lines, in plain form, below a row of empty cells.

    That row tells polars the width: the first of a log may itself be torn.
    """
    yield _whole_row(layout)
    with source.path.open(encoding=encoding, errors="replace", newline=None) as file:
        for _ in range(layout.first):
            file.readline()
        while piece := file.read(_PIECE) + file.readline(_PIECE):
            yield plain(piece, text.dress) if text.dress else piece


def _write(source: Source, pieces: Iterator[str], copy: Path) -> int:
    """Write them; how many quotes there are. LogError where they cannot be read or written."""
    quotes = 0
    try:
        with copy.open("xb") as file:
            for piece in _readable(source, pieces):
                quotes += piece.count('"')
                file.write(piece.encode())
    except OSError as problem:
        raise no_room(source.name, problem.strerror or str(problem)) from problem
    return quotes


def _readable(source: Source, pieces: Iterator[str]) -> Iterator[str]:
    try:
        yield from pieces
    except OSError as problem:
        raise unreadable(source.path, problem) from problem


def _whole_row(layout: Layout) -> str:
    return layout.delimiter * (layout.width - 1) + "\n"


def _sure_encoding(source: Source, first: str) -> tuple[str, tuple[str, ...]]:
    """The encoding of all of it, by that of its first lines, and what is lost by it.

    Where those are UTF-8 and later ones are not, it is one-byte text, or UTF-8 with damage.
    """
    if first not in ("utf-8", "utf-8-sig"):
        return first, ()
    first = "utf-8-sig"  # a mark, where there is one, is none of the first cell
    try:
        with source.path.open(encoding=first) as file:
            while file.read(_PIECE):
                pass
    except UnicodeDecodeError:
        return _one_byte_or_damaged(source.path)
    return first, ()


def _one_byte_or_damaged(path: Path) -> tuple[str, tuple[str, ...]]:
    damaged = beyond_ascii = 0
    with path.open(encoding="utf-8-sig", errors="replace") as file:
        while piece := file.read(_PIECE):
            damaged += piece.count("\ufffd")
    with path.open("rb") as raw:
        while block := raw.read(_PIECE):
            beyond_ascii += int(np.count_nonzero(np.frombuffer(block, dtype=np.uint8) >= 0x80))
    if beyond_ascii > 2 * damaged:
        return "utf-8-sig", (f"{count(damaged, 'character')} could not be read",)
    return "cp1252", ()
