"""Parquet and Arrow: the same log as from text, whatever the types of its columns."""

import datetime
import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from tests.logs.packing import HEADERS, ROWS, as_text, refusal, table
from tuneledger.errors import LogError
from tuneledger.logs import open_log
from tuneledger.logs.limits import Limits
from tuneledger.logs.source import open_source
from tuneledger.logs.typed.lazily import guarded

Writer = Callable[[pl.DataFrame, Path], object]
WRITERS: dict[str, Writer] = {
    "parquet": lambda frame, path: frame.write_parquet(path),
    "arrow file": lambda frame, path: frame.write_ipc(path),
    "arrow stream": lambda frame, path: frame.write_ipc_stream(path),
}
each_format = pytest.mark.parametrize("write", WRITERS.values(), ids=WRITERS)


@each_format
def test_a_typed_log_holds_what_the_text_holds(write: Writer, tmp_path: Path) -> None:
    text = open_log(as_text(tmp_path / "run.csv"))
    path = tmp_path / "run.bin"
    write(table(), path)
    typed = open_log(path)
    assert [(c.name, c.unit) for c in typed.channels] == [(c.name, c.unit) for c in text.channels]
    assert np.array_equal(typed.groups[0].times, text.groups[0].times)
    for a, b in zip(typed.channels, text.channels, strict=True):
        assert np.array_equal(typed.values(a), text.values(b)), a.name


@pytest.mark.parametrize(
    "stamps",
    [
        [datetime.datetime(2026, 5, 3, 10) + datetime.timedelta(seconds=i / 20) for i in range(80)],
        [datetime.timedelta(seconds=5 + i / 20) for i in range(80)],
        [f"10:00:{i / 20:06.3f}" for i in range(80)],
    ],
    ids=["date and time", "duration", "words"],
)
def test_time_may_be_of_any_type_that_tells_it(stamps: list[object], tmp_path: Path) -> None:
    frame = table().with_columns(pl.Series("Stamp", stamps)).drop("Time [s]")
    frame.write_parquet(tmp_path / "run.parquet")
    log = open_log(tmp_path / "run.parquet")
    assert log.time.name == "Stamp"
    assert np.allclose(log.groups[0].times, np.arange(ROWS) / 20.0, atol=1e-9)


def test_cells_of_any_type_become_numbers_or_are_missing(tmp_path: Path) -> None:
    n = np.arange(ROWS)
    frame = table().with_columns(
        pl.Series("Words", np.where(n > 30, "on", "off")),
        pl.Series("Kinds", np.where(n > 30, "yes", "no"), dtype=pl.Categorical),
        pl.Series("Exact", [Decimal("1.25")] * ROWS),
        pl.Series("Holes", np.where(n % 2 == 0, 1.0, np.inf)),
        pl.Series("Lists", [[1.0, 2.0]] * ROWS),
    )
    frame.write_parquet(tmp_path / "run.parquet")
    log = open_log(tmp_path / "run.parquet")
    values = {c.name: log.values(c) for c in log.channels}
    assert np.array_equal(values["Words"], (n > 30) * 1.0)
    assert np.array_equal(values["Kinds"], (n > 30) * 1.0)
    assert np.array_equal(values["Rain"], (n > 40) * 1.0)
    assert set(values["Exact"]) == {1.25}
    assert np.isnan(values["Holes"][1::2]).all()
    assert np.isnan(values["Lists"]).all()


def test_rows_without_a_time_are_left_out_and_told(tmp_path: Path) -> None:
    times = [None if i in (3, 4) else i / 20 for i in range(ROWS)]
    table().with_columns(pl.Series(HEADERS[0], times)).write_parquet(tmp_path / "run.parquet")
    log = open_log(tmp_path / "run.parquet")
    assert log.samples == ROWS - 2
    assert all(log.values(c).size == ROWS - 2 for c in log.channels)
    assert "2 rows without a time are left out" in log.notes


@pytest.mark.parametrize(
    ("frame", "found"),
    [
        (table().drop("Time [s]").with_columns(pl.lit(1).alias("Beat")), "no column is time"),
        (table().head(1), "it holds 1 sample|no column is time"),
        (table().select("Time [s]"), "no channel holds a single number"),
        (table().with_columns(pl.col("Time [s]").reverse()), "time runs backwards"),
    ],
)
def test_what_is_no_log_says_why(frame: pl.DataFrame, found: str, tmp_path: Path) -> None:
    frame.write_parquet(tmp_path / "run.parquet")
    with pytest.raises(LogError, match=found):
        open_log(tmp_path / "run.parquet")


def test_more_columns_than_the_limit_are_refused(tmp_path: Path) -> None:
    table().write_parquet(tmp_path / "run.parquet")
    with pytest.raises(LogError, match="it has 5 columns; expected at most 4"):
        open_log(tmp_path / "run.parquet", limits=Limits(columns=4))


@each_format
def test_a_damaged_file_is_refused_or_read_but_never_breaks(write: Writer, tmp_path: Path) -> None:
    path = tmp_path / "run.bin"
    write(table(), path)
    whole = path.read_bytes()
    chance = np.random.default_rng(1906)
    refused = 0
    for case in range(60):
        data = bytearray(whole)
        if case % 3 == 0:
            data = data[: int(chance.integers(8, len(data)))]
        else:
            for place in chance.integers(8, len(data), 1 + case % 5):
                data[place] ^= int(chance.integers(1, 256))
        path.write_bytes(bytes(data))
        problem = refusal(path)
        assert problem is None or problem.faults[0].do
        refused += problem is not None
    assert refused >= 20


@each_format
def test_the_way_a_header_writes_decides_what_one_name_leaves_open(
    write: Writer, tmp_path: Path
) -> None:
    """Where units stand behind a slash, `n/rpm` is n in rpm; as in text, so in a typed table."""
    names = ["t/s", "n/rpm", "p/kPa", "zw/°", "zws/°", "T/°C"]
    n = np.arange(ROWS, dtype=float)
    frame = pl.DataFrame({name: n / 20 if i == 0 else n + i for i, name in enumerate(names)})
    frame.write_csv(tmp_path / "run.csv")
    write(frame, tmp_path / "run.bin")
    text, typed = open_log(tmp_path / "run.csv"), open_log(tmp_path / "run.bin")
    assert [(c.name, c.unit) for c in typed.channels] == [(c.name, c.unit) for c in text.channels]
    assert ("n", "rpm") in [(c.name, c.unit) for c in typed.channels]


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ('parquet error: Error { source_location: ErrorLocation { type_: "[FieldRef]" } }', ""),
        ('out-of-spec: InvalidBuffer { length: 80, type_name: "f64" }', "out-of-spec"),
        ("the schema cannot be decoded, InvalidByte(9, 4)", "the schema cannot be decoded"),
        ("called `Result::unwrap()` on an `Err` value: Panic(Id(381))", ""),
        ("parquet: File ends: invalid utf8", "parquet: File ends: invalid utf8"),
    ],
)
def test_the_names_of_a_librarys_inside_are_not_told(said: str, told: str, tmp_path: Path) -> None:
    (tmp_path / "run.parquet").write_bytes(b"PAR1")
    reason = f" ({told})" if told else ""
    with (
        pytest.raises(LogError, match=f"cut short{re.escape(reason)}\\. Copy"),
        guarded(open_source(tmp_path / "run.parquet")),
    ):
        raise OSError(said)
