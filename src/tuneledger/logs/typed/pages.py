"""Whether the headers in a Parquet file agree, and what it becomes, before its numbers are read.

The library that reads them trusts each page's number of values; where damage makes that negative
or huge, it asks for more memory than there is and takes the whole program with it. That cannot be
caught, only prevented. Source of the fields: Apache Parquet, `parquet.thrift`.
"""

import mmap
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from tuneledger.logs.typed.thrift import Reader, Record

_MAGIC = b"PAR1"
_MOST_BYTES = 1 << 31  # of one page, unpacked
_PAGE_KINDS = (5, 7, 8)  # a page of data, a dictionary, a page of data of version 2
_DICTIONARY = 7
_BYTES, _FIXED = 6, 7  # types of a column: texts, bytes of one length
_NUMBER, _TEXT = 8, 16  # bytes of a value in memory
_DELTAS = (5, 6, 7)  # ways of writing whose pages do not tell what they become
_ENCODING = {5: 2, 8: 4}  # kind of a page → which field of its header is its way of writing


def size_unpacked(path: Path) -> int:
    """How many bytes its columns become, by its headers; at least eight for each value.

    ValueError, with a phrase, where they do not agree. OSError as it comes.
    """
    with path.open("rb") as file:
        if file.seek(0, 2) < 12:
            raise ValueError("it is too short")
        with mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
            try:
                return sum(_follow(data, piece) for piece in _pieces(data))
            except (TypeError, AttributeError, KeyError):
                raise ValueError("its headers are broken") from None


def delta_coded(path: Path) -> tuple[int, ...] | None:
    """Which columns hold differences, by the table of contents that `size_unpacked` has checked.

    Counted from 0; none where one does and columns lie within others. None where none does.
    """
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
        footer = _footer(data)
    found = {
        at
        for group in footer.get(4) or ()
        for at, column in enumerate(group[1])
        if any(way in _DELTAS for way in column[3].get(2) or ())
    }
    flat = all(not column.get(5) for column in footer[2][1:])
    return (tuple(sorted(found)) if flat else ()) if found else None


class _Piece(NamedTuple):
    """Some rows of one column. width: bytes that one value takes at least, once it is read"""

    told: Record
    rows: int
    width: int


def _pieces(data: mmap.mmap) -> Iterator[_Piece]:
    """What the end of the file says of every piece of a column."""
    footer = _footer(data)
    widths = [_width(column) for column in footer[2] if not column.get(5)]
    for group in footer.get(4) or ():
        rows = max(group[3], 0)
        for at, column in enumerate(group[1]):
            told = column[3]
            if not 0 <= told[5] <= rows * _REPEATED:
                raise ValueError(f"a column of {told[5]} values in {rows} rows")
            yield _Piece(told, rows, widths[at] if at < len(widths) else _NUMBER)


def _footer(data: mmap.mmap) -> Record:
    if data[-4:] != _MAGIC:
        raise ValueError("its end is missing")
    size = int.from_bytes(data[-8:-4], "little")
    if size > len(data) - 12:
        raise ValueError("its table of contents is longer than the file")
    return _contents(bytes(data[len(data) - 8 - size : len(data) - 8]))


@lru_cache(maxsize=1)  # asked for twice, and long
def _contents(footer: bytes) -> Record:
    return Reader(footer).record()


def _width(column: Record) -> int:
    """By the type that the table's scheme gives: all that is read becomes numbers or texts."""
    kind = column.get(1)
    if kind == _FIXED:
        return max(_TEXT, int(column[2]))
    return _TEXT if kind == _BYTES else _NUMBER


_REPEATED = 1 << 20  # values of a list in one row, at most


def _follow(data: mmap.mmap, piece: _Piece) -> int:
    """Walk the pages of a piece; the bytes that it becomes. ValueError where a page cannot be."""
    told = piece.told
    values, packed = told[5], told[7]
    least: int = max(values, piece.rows) * piece.width
    if not values:
        return least
    at = min(place for place in (told[9], told.get(11) or told[9]) if place > 0)
    end = at + packed
    if not 0 < at <= end <= len(data):
        raise ValueError("a column lies outside the file")
    seen: int = 0
    becomes: int = 0
    while seen < values and at < end:
        header, length = _header(data, at, end)
        unpacked, size, number = header[2], header[3], _number(header)
        at += length + size
        if not 0 <= unpacked <= _MOST_BYTES or size < 0 or at > end:
            raise ValueError("a page of a size that cannot be")
        becomes += unpacked
        if _DICTIONARY in header:
            if not 0 <= number <= unpacked + 1:
                raise ValueError(f"a dictionary of {number} values in {unpacked} bytes")
            continue
        if _encoding(header) in _DELTAS and _encoding(header) not in (told.get(2) or ()):
            raise ValueError("a page is written in a way that the table of contents does not name")
        seen += number
        if number < 0 or seen > values:
            raise ValueError(f"a page of {number} values in a column of {values}")
    if seen < values:
        raise ValueError(f"{seen} of {values} values are there")
    return max(least, becomes)


_HEADERS = (1 << 9, 1 << 20)  # bytes: of most; of one with the page's smallest and largest text


def _header(data: mmap.mmap, at: int, end: int) -> tuple[Record, int]:
    """A page's header and how long it is."""
    for most in _HEADERS:
        reader = Reader(data[at : min(end, at + most)])
        try:
            return reader.record(), reader.at
        except ValueError:
            if most == _HEADERS[-1] or at + most >= end:
                raise
    raise ValueError("a header that does not end")


def _encoding(header: Record) -> int | None:
    return next((header[kind].get(at) for kind, at in _ENCODING.items() if kind in header), None)


def _number(header: Record) -> int:
    found: Any = next((header[kind] for kind in _PAGE_KINDS if kind in header), None)
    if found is None:
        raise ValueError("a page of an unknown kind")
    return int(found[1])
