"""Headers of Parquet are held against each other before the numbers are read.

A page whose number of values is damaged makes the library that reads it end the whole program, so
that it must never get to see one.
"""

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
from tuneledger.logs.typed.pages import size_unpacked
from tuneledger.logs.typed.thrift import Reader

ROWS = 80  # a page's number of values is written zigzag: 160, in seven bits at a time A0 01
RIGHT, WRONG = b"\x15\xa0\x01", b"\x15\xa1\x01"  # field 1: 80 values, −81 values


def test_a_page_with_fewer_values_than_none_is_damage(tmp_path: Path) -> None:
    path = tmp_path / "run.parquet"
    table().write_parquet(path, compression="uncompressed")
    whole = path.read_bytes()
    assert RIGHT in whole
    path.write_bytes(whole.replace(RIGHT, WRONG, 1))
    with pytest.raises(LogError, match=r"damaged, or cut short \(a page of -81 values"):
        open_log(path)


@pytest.mark.parametrize("rows", [0, 1, 5000])
@pytest.mark.parametrize("compression", ["uncompressed", "snappy", "zstd", "gzip", "lz4", "brotli"])
@pytest.mark.parametrize("group", [None, 700])
def test_whole_files_agree_with_themselves(
    rows: int, compression: Any, group: int | None, tmp_path: Path
) -> None:
    number = np.arange(rows)
    frame = pl.DataFrame(
        {
            "Time [s]": number / 50.0,
            "Words": ["on", "off", "x" * 200] * (rows // 3) + ["on"] * (rows % 3),
            "Switch": number % 3 == 0,
            "Gaps": [None if n % 7 else float(n) for n in number.tolist()],
            "Lists": [[1, 2]] * rows,
        },
        schema_overrides={"Gaps": pl.Float64, "Lists": pl.List(pl.Int64)},
    )
    path = tmp_path / "run.parquet"
    frame.write_parquet(path, compression=compression, row_group_size=group, data_page_size=2000)
    assert size_unpacked(path) >= rows * 5 * 8


@given(st.binary(max_size=300))
def test_any_bytes_are_a_record_or_no_record(data: bytes) -> None:
    try:
        found = Reader(data).record()
    except ValueError:
        return
    assert isinstance(found, dict)


def test_lists_in_lists_without_end_are_no_record() -> None:
    with pytest.raises(ValueError, match="nested too deeply"):
        Reader(b"\x19" * 5000).record()
