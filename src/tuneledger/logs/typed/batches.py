"""Whether the headers in an Arrow IPC file agree with its size, before its numbers are read.

The library that reads them trusts the places that the headers tell; where damage moves one outside
the file, its threads break, and sometimes wait for each other for ever. Source of the fields:
Apache Arrow, `File.fbs` and `Message.fbs`.
"""

import mmap
from pathlib import Path

from tuneledger.logs.typed.flat import Flat, take

_MAGIC = b"ARROW1"
_BLOCK = "<qi4xq"  # where a batch begins, the length of its header, the length of its numbers
_NODE = "<qq"  # of a column: values, missing ones
_BUFFER = "<qq"  # of a column: where its bytes begin, how many there are
_DICTIONARIES, _BATCHES = 2, 3
_MOST_BYTES = 1 << 32  # of one column, unpacked
_CONTINUES = 0xFFFFFFFF
_RECORDS, _DICTIONARY = 3, 2  # kinds of a message


def disagreement(path: Path) -> str | None:
    """What is wrong with the headers, as a phrase; None where they agree. OSError as it comes."""
    with path.open("rb") as file:
        if file.seek(0, 2) < 24:
            return "it is too short"
        with mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
            try:
                _follow(data)
            except ValueError as problem:
                return str(problem)
    return None


def _follow(data: mmap.mmap) -> None:
    end = len(data) - 10
    if data[end + 4 :] != _MAGIC:
        raise ValueError("its end is missing")
    size = take(data[end : end + 4], "<i", 0)[0]
    if not 0 < size <= end - 8:
        raise ValueError("its table of contents is longer than the file")
    footer = Flat.root(data[end - size : end])
    for field in (_DICTIONARIES, _BATCHES):
        for start, header, body in footer.records(field, _BLOCK):
            if start < 8 or header < 8 or body < 0 or start + header + body > end - size:
                raise ValueError("a batch lies outside the file")
            _batch(data, start, header, body)


def _batch(data: mmap.mmap, start: int, header: int, body: int) -> None:
    """The header of one batch: its columns lie within its numbers."""
    told = data[start : start + header]
    first = take(told, "<I", 0)[0]
    message = Flat.root(told[8:] if first == _CONTINUES else told[4:])
    if message.number(1, "<B") not in (_RECORDS, _DICTIONARY):
        raise ValueError("a batch of an unknown kind")
    batch = message.table(2)
    if batch is not None and message.number(1, "<B") == _DICTIONARY:
        batch = batch.table(1)
    if batch is None or message.number(3, "<q") > body:
        raise ValueError("a batch without its columns, or longer than the file has it")
    rows = batch.number(0, "<q")
    for values, missing in batch.records(1, _NODE):
        if not 0 <= missing <= values <= 8 * body + rows or rows < 0:
            raise ValueError(f"a column of {values} values, {missing} of them missing")
    packed = batch.table(3) is not None
    for place, length in batch.records(2, _BUFFER):
        if place < 0 or length < 0 or place + length > body:
            raise ValueError("a column lies outside its batch")
        if packed and length >= 8:
            at = start + header + place
            if not -1 <= take(data[at : at + 8], "<q", 0)[0] <= _MOST_BYTES:
                raise ValueError("a column that would become too large")
