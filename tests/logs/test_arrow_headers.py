"""Headers of an Arrow IPC file are held against its size before its numbers are read.

Where they point outside, the threads of the library that reads them may wait for each other for
ever, so that it must never get to see such a file.
"""

import struct
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.logs.packing import table
from tuneledger.errors import LogError
from tuneledger.logs import open_log
from tuneledger.logs.typed.batches import size_unpacked
from tuneledger.logs.typed.flat import Flat

BLOCK = struct.Struct("<qi4xq")  # where a batch begins, its header's length, its numbers' length


def block_places(data: bytes) -> list[int]:
    """Where in the file's table of contents a batch is told: it begins with four bytes FF."""
    size = struct.unpack("<i", data[-10:-6])[0]
    found = []
    for at in range(len(data) - 10 - size, len(data) - 10 - BLOCK.size):
        start, header, body = BLOCK.unpack_from(data, at)
        inside = 8 <= start < len(data) and header >= 8 and 0 < body < len(data)
        if inside and data[start : start + 4] == b"\xff\xff\xff\xff":
            found.append(at)
    return found


@pytest.mark.parametrize("moved", [1 << 45, -1])
def test_a_batch_outside_the_file_is_damage(moved: int, tmp_path: Path) -> None:
    path = tmp_path / "run.arrow"
    table().write_ipc(path)
    data = bytearray(path.read_bytes())
    place = block_places(data)[0]
    start, header, _ = BLOCK.unpack_from(data, place)
    BLOCK.pack_into(data, place, start, header, moved)
    path.write_bytes(data)
    with pytest.raises(LogError, match=r"damaged, or cut short \(a batch lies outside the file"):
        open_log(path)


@pytest.mark.parametrize("rows", [0, 1, 5000])
@pytest.mark.parametrize("compression", ["uncompressed", "lz4", "zstd"])
@pytest.mark.parametrize("stream", [False, True])
def test_whole_files_agree_with_themselves(
    rows: int, compression: Any, stream: bool, tmp_path: Path
) -> None:
    number = np.arange(rows)
    frame = pl.DataFrame(
        {
            "Time [s]": number / 50.0,
            "Words": ["on", "off"] * (rows // 2) + ["on"] * (rows % 2),
            "Gaps": [None if n % 7 else float(n) for n in number.tolist()],
            "Lists": [[1, 2]] * rows,
            "Kinds": pl.Series(["a"] * rows, dtype=pl.Categorical),
        },
        schema_overrides={"Gaps": pl.Float64, "Lists": pl.List(pl.Int64)},
    )
    path = tmp_path / "run.arrow"
    (frame.write_ipc_stream if stream else frame.write_ipc)(path, compression=compression)
    assert size_unpacked(path, stream=stream) >= rows * 5 * 8


@given(st.binary(max_size=200))
def test_any_bytes_are_a_table_or_none(data: bytes) -> None:
    try:
        root = Flat.root(data)
        list(root.records(3, "<qi4xq"))
    except ValueError:
        return
    assert 0 <= root.at <= len(data)
