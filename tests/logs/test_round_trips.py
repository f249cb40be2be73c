"""What is written is read again the same, by us and by a second reader; what it loses is listed.

Outside reference for MDF: the library mdfreader, which shares no code with the one that writes.
"""

from dataclasses import dataclass
from pathlib import Path

import mdfreader
import numpy as np
import polars as pl
import pytest

from tests.logs.packing import table
from tuneledger.cli.main import run
from tuneledger.logs import open_log
from tuneledger.logs.model import Channel, Log
from tuneledger.logs.writing import staged
from tuneledger.logs.writing.mdf import write_mdf
from tuneledger.logs.writing.model import Column, Table, tables_of
from tuneledger.logs.writing.output import write_tables

DEMO = Path(__file__).parents[2] / "demo"
FAST, SLOW = np.arange(300) / 50.0, np.arange(30) / 5.0


@dataclass(frozen=True)
class Loses:
    """What a format cannot carry of a log.

    rasters: several rasters become one, with empty cells between a slow channel's samples
    words:   cells that are neither numbers nor a switch
    """

    rasters: bool
    words: bool = True


LOSES = {
    ".csv": Loses(rasters=True),
    ".parquet": Loses(rasters=True),
    ".arrow": Loses(rasters=True),
    ".mf4": Loses(rasters=False),
}


def gaps(values: np.ndarray) -> np.ndarray:
    """The values with some of them missing."""
    return np.where(np.arange(values.size) % 11 == 5, np.nan, values)


def rich(path: Path) -> Path:
    """Two rasters, names in several scripts, one of them twice, units, missing and tiny values."""
    fast = (
        Column.of("Spark out", "deg", 12 + np.sin(FAST)),
        Column.of('Zündung, Soll; "Kopf"', "°KW", gaps(np.cos(FAST) / 3)),
        Column.of("点火", "", FAST * 1e-9),
        Column.of("Spark out", "deg", -FAST * 1e7),
    )
    slow = (Column.of("Water", "°C", 80 + SLOW), Column.of("Rain", "", (SLOW > 3).astype(float)))
    with path.open("wb") as file:
        write_mdf([Table("fast", FAST, fast), Table("slow", SLOW, slow)], file)
    return path


def own(log: Log) -> list[Channel]:
    return [channel for channel in log.channels if channel != log.time]


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> Log:
    return open_log(rich(tmp_path_factory.mktemp("rich") / "rich.mf4"))


@pytest.mark.parametrize("ending", LOSES)
def test_a_log_of_two_rasters_keeps_all_but_what_its_format_loses(
    ending: str, before: Log, tmp_path: Path
) -> None:
    with (tmp_path / "out").open("wb") as file:
        write_tables(tables_of(before), ending, file)
    after = open_log(tmp_path / "out")
    assert [c.name for c in own(after)] == [c.name for c in own(before)]
    assert [c.unit for c in own(after)] == [c.unit for c in own(before)]
    assert len(after.groups) == (1 if LOSES[ending].rasters else len(before.groups))
    for old, new in zip(own(before), own(after), strict=True):
        was, found = before.series(old), after.series(new)
        assert np.array_equal(found.values, was.values)
        assert np.allclose(found.times, was.times, atol=1e-9)


@pytest.mark.parametrize("ending", LOSES)
def test_words_are_lost_by_every_format_and_said(
    ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert LOSES[ending].words
    words = pl.Series("Mode", ["warm up", "closed loop", "limp", "cut"] * 20)
    source = tmp_path / "run.csv"
    table().with_columns(words).write_csv(source)
    assert run(["convert", str(source), str(tmp_path / f"out{ending}")]) == 1
    assert "hold words and no numbers: Mode" in capsys.readouterr().out
    assert not np.isfinite(_values(open_log(tmp_path / f"out{ending}"), "Mode")).any()


def _values(log: Log, name: str) -> np.ndarray:
    channel = log.find(name)
    return np.array([]) if channel is None else log.values(channel)


@pytest.mark.parametrize("parts", ["one part", "many parts"])
def test_every_channel_of_a_whole_log_is_equal_in_a_second_reader(
    parts: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if parts == "many parts":
        monkeypatch.setattr(staged, "CELLS_AT_ONCE", 20_000)
    log, path = open_log(DEMO / "climb.csv"), tmp_path / "climb.mf4"
    with path.open("wb") as file:
        write_mdf(tables_of(log), file)
    other = mdfreader.Mdf(str(path))
    assert np.allclose(other.get_channel_data("time"), log.times(log.time), atol=1e-9)
    for channel in own(log):
        found = other.get_channel_data(channel.name)
        assert np.array_equal(found, log.values(channel), equal_nan=True), channel.name
        assert other.get_channel_unit(channel.name) == channel.unit


def test_a_ledger_as_mdf_is_equal_in_a_second_reader(tmp_path: Path) -> None:
    given = [str(DEMO / name) for name in ("climb.csv", "rev-d.toml", "rev-c.toml")]
    ledgers = [tmp_path / name for name in ("ledger.mf4", "ledger.csv")]
    for ledger in ledgers:
        assert run(["reconcile", *given, "--ledger", str(ledger)]) == 1
    other, plain = mdfreader.Mdf(str(ledgers[0])), pl.read_csv(ledgers[1])
    for name in plain.columns[1:]:
        values = plain[name].cast(pl.Float64).fill_null(np.nan).to_numpy()
        found = other.get_channel_data(name.removesuffix("_deg"))
        assert np.array_equal(found, values, equal_nan=True), name
