"""What Parquet and Arrow become is told by their headers, and held against their size before."""

from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.logs.packing import refusal, table
from tests.logs.test_typed import WRITERS
from tuneledger.errors import LogError
from tuneledger.logs import arrow, open_log
from tuneledger.logs.limits import MEGABYTE, USUAL, Limits
from tuneledger.logs.registry import recognise
from tuneledger.logs.source import open_source
from tuneledger.logs.typed import batches, pages

PACKED: dict[str, Callable[[pl.DataFrame, Path], object]] = {
    "parquet": lambda frame, path: frame.write_parquet(path, compression="zstd"),
    "arrow file": lambda frame, path: frame.write_ipc(path, compression="zstd"),
    "arrow stream": lambda frame, path: frame.write_ipc_stream(path, compression="zstd"),
}
SIZES: dict[str, Callable[[Path], int]] = {
    "parquet": pages.size_unpacked,
    "arrow file": partial(batches.size_unpacked, stream=False),
    "arrow stream": partial(batches.size_unpacked, stream=True),
}
ROWS, COLUMNS = 50_000, 30
each_packed = pytest.mark.parametrize("form", PACKED)


def constant() -> pl.DataFrame:
    """Twelve megabytes of numbers that hardly ever change."""
    columns = {f"C{k}": np.full(ROWS, float(k)) for k in range(COLUMNS - 1)}
    return pl.DataFrame({"Time [s]": np.arange(ROWS) // 100 * 1.0, **columns})


@each_packed
def test_a_small_file_that_would_become_a_large_one_is_refused_unread(
    form: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "run.bin"
    PACKED[form](constant(), path)
    few = Limits(small=2 * MEGABYTE, expansion=1)
    for reader in ("scan_parquet", "scan_ipc", "read_ipc_stream"):
        with monkeypatch.context() as patched:
            patched.setattr(pl, reader, lambda *_, **__: pytest.fail("it was read"))
            with pytest.raises(LogError, match=r"would become 11\.4 MB of numbers; expected at mo"):
                open_log(path, limits=few)
    with pytest.raises(LogError, match=r"give --large to raise the limits tenfold"):
        open_log(path, limits=few)
    assert open_log(path, limits=few.raised()).samples == ROWS
    assert open_log(path).samples == ROWS  # less than anybody minds


def test_a_log_of_hours_may_be_packed_as_well_as_logs_are() -> None:
    hour = 200 * 3600 * 200 * 8  # bytes of 200 channels at 200 Hz
    for packed in (25 * MEGABYTE, hour // 3):
        assert USUAL.of_table(packed) > hour
        assert USUAL.of_table(3 * packed) > 3 * hour
    assert USUAL.of_table(20 * hour) > 20 * hour  # what is not packed has no bound
    assert USUAL.of_table(458_000) < 2e9
    assert USUAL.raised().of_table(458_000) > 2e9


@pytest.mark.parametrize("form", WRITERS)
def test_what_is_not_packed_may_be_of_any_size(form: str, tmp_path: Path) -> None:
    path = tmp_path / "run.bin"
    noise = np.random.default_rng(7).normal(size=(ROWS, 4)).cumsum(axis=0)
    frame = pl.DataFrame({"Time [s]": np.arange(ROWS) / 100.0}).hstack(pl.DataFrame(noise))
    WRITERS[form](frame, path)
    log = open_log(path, limits=Limits(small=1000, unpacked=1000, expansion=1))
    assert log.samples == ROWS


@each_packed
def test_every_value_counts_even_where_a_file_holds_none_of_it(form: str, tmp_path: Path) -> None:
    frame = pl.DataFrame({"Nothing": pl.Series([None] * ROWS), "Word": ["on"] * ROWS})
    frame = frame.with_columns(pl.lit(value=True).alias("Switch"))
    PACKED[form](frame, tmp_path / "run.bin")
    assert SIZES[form](tmp_path / "run.bin") >= 3 * 8 * ROWS


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A log as an Arrow stream."""
    path = tmp_path_factory.mktemp("stream") / "run.arrows"
    table().write_ipc_stream(path, compression="zstd")
    return path.read_bytes()


def test_a_stream_cut_short_or_without_an_end_is_refused_or_read(
    whole: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "run.arrows"
    path.write_bytes(whole[:-8])  # the mark at its end may be missing
    assert refusal(path) is None
    for end in range(40, len(whole) - 8, 37):
        path.write_bytes(whole[:end])
        assert refusal(path) is not None, end


def test_a_batch_that_does_not_follow_is_damage(whole: bytes, tmp_path: Path) -> None:
    path = tmp_path / "run.arrows"
    path.write_bytes(whole[:-8] + b"\0" * 8 + whole)
    with pytest.raises(LogError, match="a batch does not begin where the one before it ends"):
        open_log(path)


def test_a_stream_that_is_too_large_is_not_read_for_its_names(
    whole: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "run.arrows"
    path.write_bytes(whole)
    form = recognise(path)
    assert form is not None
    with monkeypatch.context() as patched:
        patched.setattr(arrow, "current", lambda: Limits(small=1, unpacked=1))
        patched.setattr(arrow, "_becomes", lambda _: 1 << 30)
        assert form.names(open_source(path)) == ()
    assert len(form.names(open_source(path))) == 5


@given(st.data())
def test_damage_to_the_headers_of_a_stream_never_leads_outside(
    whole: bytes, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    harmed = bytearray(whole)
    for _ in range(data.draw(st.integers(1, 4))):
        harmed[data.draw(st.integers(8, len(whole) - 1))] = data.draw(st.integers(0, 255))
    path = tmp_path_factory.getbasetemp() / "harmed.arrows"
    path.write_bytes(harmed)
    with suppress(ValueError):
        assert batches.size_unpacked(path, stream=True) >= 0
