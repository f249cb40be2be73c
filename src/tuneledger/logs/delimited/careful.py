"""Samples that the straight way of reading trips over, mended in memory first."""

import numpy as np
from polars.exceptions import PolarsError

from tuneledger.errors import Fault, LogError
from tuneledger.logs.delimited.body import Body, offset, table
from tuneledger.logs.delimited.layout import Layout
from tuneledger.logs.delimited.linecount import count_cells
from tuneledger.logs.delimited.plain import plain
from tuneledger.logs.delimited.text import Text
from tuneledger.logs.source import Source, unreadable
from tuneledger.wording import count


def read_carefully(source: Source, text: Text, layout: Layout) -> Body:
    """Read all samples. LogError if the file has gone or cannot be read as a table at all."""
    try:
        raw = source.path.read_bytes()
    except OSError as problem:
        raise unreadable(source.path, problem) from problem
    data, notes = _as_utf_8(raw, text.encoding)
    data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if text.dress:
        data = plain(data.decode(errors="replace"), text.dress).encode()
    data = data[offset(data, layout.first) :]
    quotes = data.count(b'"')
    for quoted in (True, False) if quotes and quotes % 2 == 0 else (False,):
        try:
            # The first row tells polars the width, and may itself be torn: one of empty cells.
            whole = layout.delimiter.encode() * (layout.width - 1) + b"\n"
            frame = table(whole + data, layout, quote=quoted, ragged=True).slice(1)
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
