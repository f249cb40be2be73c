"""Typed logs that come to more than their headers tell: bounded, or told in a sentence."""

import subprocess
import sys
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from tests.logs.parquet_by_hand import (
    BYTE_ARRAY,
    DELTA_BINARY_PACKED,
    DELTA_BYTE_ARRAY,
    DELTA_LENGTH_BYTE_ARRAY,
    INT64,
    PLAIN,
    deltas,
    parquet,
)
from tuneledger.errors import LogError
from tuneledger.logs import open_log
from tuneledger.logs.limits import MEGABYTE, Limits
from tuneledger.logs.typed import apart

ROWS = 400


def speeds() -> list[int]:
    return [900 + (37 * n) % 500 for n in range(ROWS)]


def beginnings(words: list[str]) -> bytes:
    """DELTA_BYTE_ARRAY: how much of the word before each repeats, then what it adds."""
    shared = [0]
    for before, after in pairwise(words):
        shared.append(len(after) if before == after else 0)
    added = [word[n:] for word, n in zip(words, shared, strict=True)]
    return deltas(shared) + deltas([len(one) for one in added]) + "".join(added).encode()


def values(path: Path, limits: Limits | None = None) -> list[float]:
    log = open_log(path, limits=limits)
    found: list[float] = log.values(log.channels[1]).tolist()
    return found


def test_columns_of_differences_are_read(tmp_path: Path) -> None:
    path = tmp_path / "run.parquet"
    parquet(path, INT64, DELTA_BINARY_PACKED, deltas(speeds()), ROWS)
    assert values(path) == speeds()
    words = ["on" if n > 90 else "off" for n in range(ROWS)]
    parquet(path, BYTE_ARRAY, DELTA_BYTE_ARRAY, beginnings(words), ROWS)
    assert values(path) == [float(word == "on") for word in words]
    page = deltas([len(word) for word in words]) + "".join(words).encode()
    parquet(path, BYTE_ARRAY, DELTA_LENGTH_BYTE_ARRAY, page, ROWS)
    assert values(path) == [float(word == "on") for word in words]


def test_texts_that_repeat_the_one_before_are_counted_whole(tmp_path: Path) -> None:
    """A hundred kilobytes of page become forty megabytes of text."""
    page = beginnings(["7" * 100_000] * ROWS)
    path = parquet(tmp_path / "run.parquet", BYTE_ARRAY, DELTA_BYTE_ARRAY, page, ROWS)
    few = Limits(small=10 * MEGABYTE, unpacked=10 * MEGABYTE)
    with pytest.raises(LogError, match=r"would become 38.* MB .*at most 10 MB.*give --large"):
        open_log(path, limits=few)
    with pytest.raises(LogError, match="no channel holds a single number"):  # it was let through
        open_log(path, limits=few.raised())


@pytest.mark.skipif(sys.platform == "win32", reason="no bound on memory there")
@pytest.mark.parametrize(
    ("kind", "encoding"), [(INT64, DELTA_BINARY_PACKED), (BYTE_ARRAY, DELTA_LENGTH_BYTE_ARRAY)]
)
def test_a_page_that_lies_about_its_values_takes_no_more_memory_than_it_may(
    kind: int, encoding: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Eight thousand million values, by one number in it, where its header says four hundred."""
    page = deltas([1], told=(1 << 33) + 1, block=1 << 33) + b"7" * ROWS
    path = parquet(tmp_path / "run.parquet", kind, encoding, page, ROWS)
    monkeypatch.setattr(apart, "_ITSELF", 1 << 30)
    with pytest.raises(LogError, match=r"would become more than 64 MB\. If you trust .* --large"):
        open_log(path, limits=Limits(small=64 * MEGABYTE))


def test_a_page_written_otherwise_than_its_file_says_is_damage(tmp_path: Path) -> None:
    page = deltas(speeds())
    path = tmp_path / "run.parquet"
    parquet(path, INT64, DELTA_BINARY_PACKED, page, ROWS, said=PLAIN)
    with pytest.raises(
        LogError, match=r"damaged, .*a way that the table of contents does not name"
    ):
        open_log(path)


TIGHT = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30))
from tuneledger.logs import open_log
for file in sys.argv[1:]:
    log = open_log(file)
    word = log.channels[2]
    print(log.samples, log.values(word)[:2].tolist(), *log.columns.words(2))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no bound on memory there")
def test_a_long_text_that_every_row_names_is_not_written_out_for_each(tmp_path: Path) -> None:
    """Twenty thousand cells of a megabyte, of which the file holds one."""
    rows = np.arange(20_000)
    frame = pl.DataFrame({"Time [s]": rows / 50.0, "Revs": rows % 97 + 900.0})
    frame = frame.with_columns(pl.lit("x" * MEGABYTE).alias("W"))
    listed = frame.with_columns(pl.col("W").cast(pl.Categorical))
    writers: dict[str, Callable[[Path], object]] = {
        "view.arrow": frame.write_ipc,
        "view.arrows": frame.write_ipc_stream,
        "listed.arrow": listed.write_ipc,
        "listed.arrows": listed.write_ipc_stream,
        "listed.parquet": listed.write_parquet,
    }
    for name, write in writers.items():
        write(tmp_path / name)
    done = subprocess.run(
        [sys.executable, "-c", TIGHT, *(str(tmp_path / name) for name in writers)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.splitlines() == ["20000 [nan, nan] (a long text)"] * len(writers), (
        done.stderr
    )
