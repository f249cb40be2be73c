"""Whether the headers in Arrow IPC agree with its size, and what it becomes, before it is read.

The library that reads them trusts the places that the headers tell; where damage moves one outside
the file, its threads break, and sometimes wait for each other for ever. Source of the fields:
Apache Arrow, `File.fbs` and `Message.fbs`; "Encapsulated message format".
"""

import mmap
from collections.abc import Iterator
from pathlib import Path

from tuneledger.logs.typed.flat import Flat, take

_MAGIC = b"ARROW1"
_BLOCK = "<qi4xq"  # where a batch begins, the length of its header, the length of its numbers
_NODE = "<qq"  # of a column: values, missing ones
_BUFFER = "<qq"  # of a column: where its bytes begin, how many there are
_DICTIONARIES, _BATCHES = 2, 3
_CONTINUES = 0xFFFFFFFF
_SCHEMA, _DICTIONARY, _RECORDS = 1, 2, 3  # kinds of a message
_AS_IT_IS = -1  # in place of a size: that column is not packed
_NUMBER = 8  # bytes of a value in memory: all become numbers or texts


def size_unpacked(path: Path, *, stream: bool) -> int:
    """How many bytes its columns become, by its headers; at least eight for each value.

    stream: it is a stream of batches, without a table of contents
    ValueError, with a phrase, where they do not agree. OSError as it comes.
    """
    with path.open("rb") as file:
        if file.seek(0, 2) < 24:
            raise ValueError("it is too short")
        with mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
            return sum(_batch(data, *place) for place in (_told if stream else _listed)(data))


def _listed(data: mmap.mmap) -> Iterator[tuple[int, int, int]]:
    """Where a file's table of contents says that its batches are; how long header and numbers."""
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
            yield start, header, body


def _told(data: mmap.mmap) -> Iterator[tuple[int, int, int]]:
    """The same of a stream, whose messages stand one behind the other."""
    at = 0
    while at + 8 <= len(data):
        mark, size = take(data[at : at + 8], "<II", 0)
        if mark != _CONTINUES:
            raise ValueError("a batch does not begin where the one before it ends")
        if not size:
            return
        header = 8 + size
        if at + header > len(data):
            raise ValueError("a batch lies outside the file")
        message = Flat.root(data[at + 8 : at + header])
        body = message.number(3, "<q")
        if body < 0 or at + header + body > len(data):
            raise ValueError("a batch lies outside the file")
        if message.number(1, "<B") != _SCHEMA:
            yield at, header, body
        at += header + body


def _batch(data: mmap.mmap, start: int, header: int, body: int) -> int:
    """The header of one batch: its columns lie within its numbers. The bytes that it becomes."""
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
    least = becomes = 0
    for values, missing in batch.records(1, _NODE):
        if not 0 <= missing <= values <= 8 * body + rows or rows < 0:
            raise ValueError(f"a column of {values} values, {missing} of them missing")
        least += values * _NUMBER
    packed = batch.table(3) is not None
    for place, length in batch.records(2, _BUFFER):
        if place < 0 or length < 0 or place + length > body:
            raise ValueError("a column lies outside its batch")
        if packed and length >= 8:
            at = start + header + place
            told_size = take(data[at : at + 8], "<q", 0)[0]
            if told_size < _AS_IT_IS:
                raise ValueError("a column of a size that cannot be")
            becomes += max(0, told_size - length)
        becomes += length
    return max(least, becomes)
