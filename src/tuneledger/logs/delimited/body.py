"""All samples of a log as text, read once; one row per line of the file.

The straight way reads the file from where it lies. Whatever that trips over (bytes that are no
UTF-8, lone carriage returns, rows that are too long, a stray quote) is mended in memory first.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl
from polars.exceptions import PolarsError

from tuneledger.errors import Fault, LogError
from tuneledger.logs.delimited.layout import Layout
from tuneledger.logs.delimited.linecount import Counts, count_cells, count_cells_in_file
from tuneledger.logs.delimited.text import Text
from tuneledger.logs.source import Source, unreadable
from tuneledger.wording import count

_INDIRECT = ("utf-16", "utf-16-le", "utf-16-be")  # ASCII is not written as ASCII in them


@dataclass(frozen=True, eq=False)
class Body:
    """The samples as text.

    frame:   a row per line, columns "0", "1", …; null where a cell is empty or was not there
    counts:  cells in every line; None where every row is known to be whole
    notes:   what had to be mended
    """

    frame: pl.DataFrame
    counts: Counts | None
    notes: tuple[str, ...] = ()


def read_body(source: Source, text: Text, layout: Layout) -> Body:
    """Read all samples. LogError if the file has gone or cannot be read as a table at all."""
    if text.ends != "mixed" and text.encoding not in _INDIRECT:
        try:
            frame = _table(source.path, layout, quote=layout.quoted, end=_end(text))
        except PolarsError:
            pass  # read the careful way, below
        except OSError as problem:
            raise unreadable(source.path, problem) from problem
        else:
            return Body(frame, _counts_where_needed(source, text, layout, frame))
    return _read_carefully(source, text, layout)


def _table(
    data: Path | bytes, layout: Layout, *, quote: bool, end: str = "\n", ragged: bool = False
) -> pl.DataFrame:
    return pl.read_csv(
        data,
        has_header=False,
        separator=layout.delimiter,
        quote_char='"' if quote else None,
        skip_lines=0 if isinstance(data, bytes) else layout.first,
        schema={str(i): pl.String for i in range(layout.width)},
        eol_char=end,
        truncate_ragged_lines=ragged,
        glob=False,
    )


def _end(text: Text) -> str:
    return "\r" if text.ends == "CR" else "\n"


def _counts_where_needed(
    source: Source, text: Text, layout: Layout, frame: pl.DataFrame
) -> Counts | None:
    """Cells per line, if the last named column is empty somewhere: a row may have ended early."""
    named = min(len(layout.header), layout.width)
    if frame.to_series(named - 1).null_count() == 0:
        return None
    try:
        counts = count_cells_in_file(
            source.path,
            layout.delimiter,
            quoted=layout.quoted,
            end=_end(text),
            offset=_offset(source.head, layout.first, _end(text).encode()),
        )
    except OSError as problem:
        raise unreadable(source.path, problem) from problem
    return counts if counts.cells.size == frame.height else None


def _read_carefully(source: Source, text: Text, layout: Layout) -> Body:
    try:
        raw = source.path.read_bytes()
    except OSError as problem:
        raise unreadable(source.path, problem) from problem
    data, notes = _as_utf_8(raw, text.encoding)
    data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    data = data[_offset(data, layout.first) :]
    quotes = data.count(b'"')
    for quoted in (True, False) if quotes and quotes % 2 == 0 else (False,):
        try:
            # The first row tells polars the width, and may itself be torn: one of empty cells.
            whole = layout.delimiter.encode() * (layout.width - 1) + b"\n"
            frame = _table(whole + data, layout, quote=quoted, ragged=True).slice(1)
        except PolarsError:
            continue
        counts = count_cells(data, layout.delimiter, quoted=quoted)
        return Body(frame, counts if counts.cells.size == frame.height else None, notes)
    raise LogError(
        Fault(
            "its rows cannot be told apart",
            file=source.name,
            place=f"below line {layout.first + 1}",
            expected="one row of cells per line",
            do="Export it again; it may have been cut or edited.",
        )
    )


def _as_utf_8(raw: bytes, encoding: str) -> tuple[bytes, tuple[str, ...]]:
    if encoding in ("utf-8", "utf-8-sig"):
        try:
            raw.decode("utf-8")
        except UnicodeDecodeError:
            return _one_byte_or_damaged(raw)
        return raw.removeprefix(b"\xef\xbb\xbf"), ()
    return raw.decode(encoding, errors="replace").encode(), ()


def _one_byte_or_damaged(raw: bytes) -> tuple[bytes, tuple[str, ...]]:
    """The first lines were UTF-8, later ones are not: one-byte text, or UTF-8 with damage."""
    mended = raw.decode("utf-8-sig", errors="replace")
    damaged = mended.count("\ufffd")
    beyond_ascii = int(np.count_nonzero(np.frombuffer(raw, dtype=np.uint8) >= 0x80))
    if beyond_ascii > 2 * damaged:
        return mended.encode(), (f"{count(damaged, 'character')} could not be read",)
    return raw.decode("cp1252", errors="replace").encode(), ()


def _offset(data: bytes, lines: int, end: bytes = b"\n") -> int:
    """Where the line after so many lines begins."""
    at = 0
    for _ in range(lines):
        at = data.index(end, at) + 1
    return at
