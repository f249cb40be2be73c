"""A log is written some rows at a time, and it is the same file as if it were written at once."""

import io
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tuneledger.errors import Fault, LogError
from tuneledger.logs import open_log
from tuneledger.logs.writing import staged
from tuneledger.logs.writing.flat import flat_parts
from tuneledger.logs.writing.frames import write_frames
from tuneledger.logs.writing.mdf import write_mdf
from tuneledger.logs.writing.model import Column, Table, tables_of
from tuneledger.logs.writing.output import write_tables
from tuneledger.logs.writing.staged import Staged

FAST, SLOW = np.arange(900) / 50.0, np.arange(90) / 5.0


def held(values: np.ndarray) -> np.ndarray:
    return np.where(np.arange(values.size) % 7 == 3, np.nan, values)


TWO_RASTERS = (
    Table(
        "fast",
        FAST,
        (
            Column.of("Spark", "deg", 12 + np.sin(FAST)),
            Column.of("Knock", "V", held(np.cos(3 * FAST))),
        ),
    ),
    Table("slow", SLOW, (Column.of("Water", "°C", 80 + SLOW), Column.of("Spark", "deg", -SLOW))),
)


def at_once(tables: tuple[Table, ...]) -> pl.DataFrame:
    """The whole table, put together in the plainest way: a row for every instant of any group."""
    times = np.unique(np.concatenate([table.times for table in tables]))
    names = ["Spark [deg]", "Knock [V]", "Water [°C]", "Spark [deg] #2"]
    columns = [pl.Series("time [s]", times)]
    for table in tables:
        for column in table.columns:
            at = dict(zip(table.times.tolist(), column.read().tolist(), strict=True))
            values = np.array([at.get(time, np.nan) for time in times.tolist()])
            columns.append(pl.Series(names[len(columns) - 1], values, nan_to_null=True))
    return pl.DataFrame(columns)


@pytest.fixture(params=["one part", "many parts", "many parts on the disk"])
def parted(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    if request.param != "one part":
        monkeypatch.setattr(staged, "CELLS_AT_ONCE", 600)
        monkeypatch.setattr(staged, "_FEWEST_ROWS", 7)
    if request.param.endswith("disk"):
        monkeypatch.setattr(staged, "IN_MEMORY", 1)


@pytest.mark.usefixtures("parted")
@pytest.mark.parametrize("ending", [".csv", ".parquet", ".arrow"])
def test_rows_in_parts_make_the_table_that_all_of_them_make(ending: str) -> None:
    whole, file = at_once(TWO_RASTERS), io.BytesIO()
    write_tables(TWO_RASTERS, ending, file)
    if ending == ".csv":
        assert file.getvalue().decode() == whole.write_csv()
    else:
        read = pl.read_parquet if ending == ".parquet" else pl.read_ipc
        assert read(io.BytesIO(file.getvalue())).equals(whole)


@pytest.mark.usefixtures("parted")
def test_every_group_of_mdf_in_parts_has_its_own_times_and_values(tmp_path: Path) -> None:
    with (tmp_path / "run.mf4").open("wb") as file:
        write_mdf(TWO_RASTERS, file)
    log = open_log(tmp_path / "run.mf4")
    assert [group.times.size for group in log.groups] == [FAST.size, SLOW.size]
    own = [channel for channel in log.channels if channel != log.time]
    written = [(table, column) for table in TWO_RASTERS for column in table.columns]
    for channel, (table, column) in zip(own, written, strict=True):
        assert channel.unit == column.unit
        assert np.allclose(log.times(channel), table.times, atol=1e-9)
        assert np.array_equal(log.values(channel), column.read(), equal_nan=True)


@settings(max_examples=60, deadline=None)
@given(rows=st.integers(0, 40), columns=st.integers(1, 9), cells=st.integers(1, 60))
def test_any_shape_comes_back_as_it_was_put_down(rows: int, columns: int, cells: int) -> None:
    whole = np.random.default_rng(rows * 10 + columns).normal(size=(columns, rows))
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(staged, "CELLS_AT_ONCE", cells)
        patched.setattr(staged, "_FEWEST_ROWS", 1)
        put = Staged(rows)
        for column in whole:
            put.put(column)
        parts = list(put.parts())
    assert np.array_equal(np.concatenate(parts, axis=1), whole)
    assert all(part[0].size * columns <= max(cells, columns) for part in parts)


def test_a_log_is_asked_for_its_columns_one_after_the_other_and_keeps_none(
    tmp_path: Path,
) -> None:
    lines = "".join(f"{n / 10},{n},{2 * n}\n" for n in range(200))
    (tmp_path / "run.csv").write_text(f"Time [s],Revs,Boost\n{lines}")
    log = open_log(tmp_path / "run.csv")
    frames = list(flat_parts(tables_of(log)))
    assert pl.concat(frames)["Boost"].to_list() == [2.0 * n for n in range(200)]
    assert log._numbers == {}


@pytest.mark.parametrize("ending", [".csv", ".parquet", ".arrow"])
def test_what_goes_wrong_on_the_way_is_told_as_what_it_is(ending: str) -> None:
    damaged = LogError(Fault("it is damaged", file="run.mf4"))

    def broken() -> Iterator[pl.DataFrame]:
        yield pl.DataFrame({"a": [1.0, 2.0]})
        raise damaged

    with pytest.raises(LogError) as told:
        write_frames(broken(), ending, io.BytesIO())
    assert told.value is damaged


NO_ROOM = """
import io, resource, signal
import numpy as np
from tuneledger.errors import OutputError
from tuneledger.logs.writing import staged
from tuneledger.logs.writing.model import Column, Table
from tuneledger.logs.writing.output import write_tables
staged.IN_MEMORY = 1
times = np.arange(4000) / 50.0
table = Table("g", times, (Column.of("Revs", "rpm", times),))
import asammdf
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (9000, 9000))
for ending in (".csv", ".parquet", ".arrow", ".mf4"):
    try:
        write_tables([table], ending, io.BytesIO())
    except OutputError as problem:
        print(problem)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no such bounds on files there")
def test_where_temporary_files_have_no_room_the_output_is_not_blamed(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", NO_ROOM], capture_output=True, text=True, check=True
    )
    lines = done.stdout.splitlines()
    assert len(lines) == 4
    for line in lines:
        assert line.startswith("what is to be written cannot be kept on the disk for temporary")
        assert "File too large" in line
        assert line.endswith("(TMPDIR).")
