"""A Parquet file written by hand: a column of time, and one whose page holds whatever is wanted.

Source: Apache Parquet, `parquet.thrift` and `Encodings.md`; "Thrift Compact protocol encoding".
"""

import struct
from collections.abc import Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

PLAIN, DELTA_BINARY_PACKED, DELTA_LENGTH_BYTE_ARRAY, DELTA_BYTE_ARRAY = 0, 5, 6, 7
INT64, DOUBLE, BYTE_ARRAY = 2, 5, 6


class Wide(int):
    """A number of 64 bits; any other has 32."""


def unsigned(number: int) -> bytes:
    """ULEB128."""
    out = bytearray()
    while True:
        out.append(number & 0x7F | (0x80 if number > 0x7F else 0))
        number >>= 7
        if not number:
            return bytes(out)


def signed(number: int) -> bytes:
    """Zigzag."""
    return unsigned(2 * number if number >= 0 else -2 * number - 1)


def deltas(values: Sequence[int], *, told: int | None = None, block: int = 128) -> bytes:
    """DELTA_BINARY_PACKED: steps from value to value, four runs to a block.

    told, block: how many values it says that there are, and how many to a block
    """
    out = unsigned(block) + unsigned(4) + unsigned(told or len(values)) + signed(values[0])
    steps = [after - before for before, after in pairwise(values)]
    for at in range(0, max(len(steps), 1), 128):
        part = steps[at : at + 128] or [0]
        least = min(part)
        part += [least] * (128 - len(part))
        width = (max(part) - least).bit_length()
        packed = sum((step - least) << (width * n) for n, step in enumerate(part))
        out += signed(least) + bytes([width]) * 4 + packed.to_bytes(128 * width // 8, "little")
    return out


def parquet(
    path: Path, kind: int, encoding: int, page: bytes, rows: int, *, said: int | None = None
) -> Path:
    """Write it. said: the encoding that its table of contents names, if not the true one."""
    times = struct.pack(f"<{rows}d", *(n / 50 for n in range(rows)))
    out, columns = b"PAR1", []
    for name, of, way, told, data in (
        (b"Time [s]", DOUBLE, PLAIN, PLAIN, times),
        (b"W", kind, encoding, encoding if said is None else said, page),
    ):
        start = len(out)
        about = {1: rows, 2: way, 3: 3, 4: 3}
        out += _record({1: 0, 2: len(data), 3: len(data), 5: about}) + data
        size, count = Wide(len(out) - start), Wide(rows)
        meta = {1: of, 2: [told], 3: [name], 4: 0, 5: count, 6: size, 7: size, 9: Wide(start)}
        columns.append({2: Wide(start), 3: meta})
    scheme = [{4: b"log", 5: 2}, {1: DOUBLE, 3: 0, 4: b"Time [s]"}, {1: kind, 3: 0, 4: b"W"}]
    if kind == BYTE_ARRAY:
        scheme[2][6] = 0  # UTF-8
    group = {1: columns, 2: Wide(len(out)), 3: Wide(rows)}
    footer = _record({1: 1, 2: scheme, 3: Wide(rows), 4: [group]})
    path.write_bytes(out + footer + struct.pack("<I", len(footer)) + b"PAR1")
    return path


def _record(fields: Mapping[int, Any]) -> bytes:
    out, last = b"", 0
    for field, value in fields.items():
        kind, data = _value(value)
        out += bytes([(field - last) << 4 | kind]) + data
        last = field
    return out + b"\0"


def _value(value: Any) -> tuple[int, bytes]:
    if isinstance(value, int):
        return (6 if isinstance(value, Wide) else 5), signed(value)
    if isinstance(value, bytes):
        return 8, unsigned(len(value)) + value
    if isinstance(value, Mapping):
        return 12, _record(value)
    kinds = {_value(item)[0] for item in value}
    return 9, bytes([len(value) << 4 | kinds.pop()]) + b"".join(_value(i)[1] for i in value)
