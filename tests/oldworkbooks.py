"""A workbook of the old kind (XLS), written from the published formats alone, for tests.

Sources: Microsoft Open Specifications, [MS-CFB] (the compound file around it) and [MS-XLS] (its
records). One stream, numbers and text, nothing else.
"""

import struct
from pathlib import Path
from typing import Any

_SECTOR = 512
_FREE, _END, _FAT = 0xFFFFFFFF, 0xFFFFFFFE, 0xFFFFFFFD


def xls(path: Path, sheets: dict[str, list[list[Any]]]) -> Path:
    path.write_bytes(_compound(_workbook(sheets)))
    return path


def _record(kind: int, content: bytes = b"") -> bytes:
    return struct.pack("<HH", kind, len(content)) + content


def _begins(what: int) -> bytes:
    return _record(0x0809, struct.pack("<HHHHII", 0x0600, what, 0x0DBB, 0x07CC, 0, 0x0600))


def _workbook(sheets: dict[str, list[list[Any]]]) -> bytes:
    """BOF, a BOUNDSHEET8 for each worksheet, EOF; then each worksheet's own records."""
    bodies = [_begins(0x0010) + _cells(rows) + _record(0x000A) for rows in sheets.values()]
    names = [name.encode("utf-16-le") for name in sheets]
    at = len(_begins(0x0005)) + sum(4 + 8 + len(name) for name in names) + 4
    told = b""
    for name, body in zip(names, bodies, strict=True):
        told += _record(0x0085, struct.pack("<IBBBB", at, 0, 0, len(name) // 2, 1) + name)
        at += len(body)
    return _begins(0x0005) + told + _record(0x000A) + b"".join(bodies)


def _cells(rows: list[list[Any]]) -> bytes:
    out = b""
    for row, cells in enumerate(rows):
        for column, cell in enumerate(cells):
            place = struct.pack("<HHH", row, column, 0)
            if isinstance(cell, str):
                text = cell.encode("utf-16-le")
                out += _record(0x0204, place + struct.pack("<HB", len(text) // 2, 1) + text)
            elif cell is not None:
                out += _record(0x0203, place + struct.pack("<d", cell))
    return out


def _compound(stream: bytes) -> bytes:
    """Header, allocation table, directory, and the stream in sectors after them."""
    stream += b"\0" * max(0, 4096 - len(stream))  # shorter ones would lie elsewhere
    stream += b"\0" * (-len(stream) % _SECTOR)
    sectors = len(stream) // _SECTOR
    tables = -(-(sectors + 2) // 127)
    first = tables + 1  # the directory lies after the table
    chain = [_FAT] * tables + [_END, *range(first + 1, first + sectors), _END]
    chain += [_FREE] * (tables * 128 - len(chain))
    header = struct.pack(
        "<8s16xHHHHH6xIIIIIIIII",
        *(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", 0x3E, 3, 0xFFFE, 9, 6, 0, tables, tables, 0, 4096),
        *(_END, 0, _END, 0),
    )
    header += struct.pack("<109I", *range(tables), *[_FREE] * (109 - tables))
    entries = _entry("Root Entry", 5, _END, 0, 1) + _entry("Workbook", 2, first, len(stream))
    entries += b"\0" * (_SECTOR - len(entries))
    return header + struct.pack(f"<{len(chain)}I", *chain) + entries + stream


def _entry(name: str, kind: int, start: int, size: int, child: int = _FREE) -> bytes:
    text = (name + "\0").encode("utf-16-le")
    head = struct.pack("<64sHBBIII", text, len(text), kind, 1, _FREE, _FREE, child)
    return head + struct.pack("<16xI16xIQ", 0, start, size)
