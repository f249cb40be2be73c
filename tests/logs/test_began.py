"""When a log began: read where a file says it, written where a format has a place for it.

Outside reference: what the library asammdf reads out of a header.
"""

import errno
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from asammdf import MDF, Signal

from tests.runs import account, climb
from tuneledger.cli.main import run
from tuneledger.logs import open_log
from tuneledger.logs.writing.mdf import write_mdf
from tuneledger.logs.writing.model import Column, Table
from tuneledger.statement.table import write_ledger

TIMES = np.arange(120) / 20.0
AT = datetime(2025, 7, 13, 9, 41, 7, 250000, tzinfo=timezone(timedelta(hours=2)))


def header_of(path: Path) -> datetime:
    with MDF(path) as mdf:
        return mdf.header.start_time


def table(path: Path, stamps: list[str]) -> Path:
    rows = [f"{stamp};{900 + i % 7};{i % 3}" for i, stamp in enumerate(stamps)]
    path.write_text("\n".join(["Time;Rev [rpm];Gear", *rows, ""]))
    return path


@pytest.mark.parametrize("at", [AT, AT.replace(tzinfo=None), AT.astimezone(UTC)])
def test_an_mdf_keeps_its_beginning_and_its_zone(at: datetime, tmp_path: Path) -> None:
    with MDF(version="4.10") as mdf:
        mdf.append([Signal(TIMES, TIMES + 3.5, name="Rev", unit="rpm")])
        mdf.header.start_time = at
        mdf.save(tmp_path / "in.mf4")
    first = at + timedelta(seconds=3.5)  # the log counts from its first sample
    assert open_log(tmp_path / "in.mf4").began == first
    out = tmp_path / "out.mf4"
    assert run(["convert", str(tmp_path / "in.mf4"), str(out)]) == 0
    assert header_of(out) == first
    assert header_of(out).tzinfo is None or header_of(out).utcoffset() == first.utcoffset()
    assert open_log(out).began == first


def test_version_3_has_a_local_time(tmp_path: Path) -> None:
    with MDF(version="3.30") as mdf:
        mdf.append([Signal(TIMES, TIMES, name="Rev", unit="rpm")])
        mdf.header.date, mdf.header.time = b"13:07:2025", b"09:41:07"
        mdf.save(tmp_path / "in.mdf")
    assert open_log(tmp_path / "in.mdf").began == datetime(2025, 7, 13, 9, 41, 7)


def test_a_log_without_a_date_is_written_without_the_present_moment(tmp_path: Path) -> None:
    path = table(tmp_path / "in.csv", [f"{t:.2f}" for t in TIMES])
    assert open_log(path).began is None
    assert run(["convert", str(path), str(tmp_path / "out.mf4")]) == 0
    assert header_of(tmp_path / "out.mf4") == datetime(1970, 1, 1)
    assert open_log(tmp_path / "out.mf4").began is None


@pytest.mark.parametrize(
    ("form", "expected"),
    [
        ("{:%Y-%m-%dT%H:%M:%S.%f}", AT.replace(tzinfo=None)),
        ("{:%Y-%m-%dT%H:%M:%S.%f}Z", AT.replace(tzinfo=UTC)),
        ("{:%Y-%m-%d %H:%M:%S.%f}+02:00", AT),
        ("{:%d.%m.%Y %H:%M:%S.%f}", AT.replace(tzinfo=None)),
        ("{:%m/%d/%Y %H:%M:%S.%f}", AT.replace(tzinfo=None)),
        ("{:%H:%M:%S.%f}", None),
    ],
)
def test_dated_clocks_in_text(form: str, expected: datetime | None, tmp_path: Path) -> None:
    moments = [AT.replace(tzinfo=None) + timedelta(seconds=float(t)) for t in TIMES]
    log = open_log(table(tmp_path / "in.csv", [form.format(m) for m in moments]))
    assert log.began == expected
    assert (log.began and log.began.tzinfo is None) == (expected and expected.tzinfo is None)


def test_a_date_that_may_be_of_two_months_is_not_guessed(tmp_path: Path) -> None:
    moments = [datetime(2025, 5, 3, 9) + timedelta(seconds=float(t)) for t in TIMES]
    log = open_log(table(tmp_path / "in.csv", [f"{m:%m/%d/%Y %H:%M:%S.%f}" for m in moments]))
    assert log.began is None


def test_seconds_since_1970_count_in_universal_time(tmp_path: Path) -> None:
    log = open_log(table(tmp_path / "in.csv", [f"{AT.timestamp() + t:.3f}" for t in TIMES]))
    assert log.began is not None
    assert abs(log.began - AT) < timedelta(milliseconds=1)


@pytest.mark.parametrize("zone", [None, "Europe/Berlin"])
def test_dates_in_parquet(zone: str | None, tmp_path: Path) -> None:
    moments = [AT.replace(tzinfo=None) + timedelta(seconds=float(t)) for t in TIMES]
    at = pl.Series("time", moments).dt.replace_time_zone(zone)
    pl.DataFrame({"time": at, "Rev [rpm]": TIMES}).write_parquet(tmp_path / "in.parquet")
    began = open_log(tmp_path / "in.parquet").began
    assert began == (AT.replace(tzinfo=None) if zone is None else AT)


def test_a_library_that_writes_tables_alone_says_no_moment(tmp_path: Path) -> None:
    with (tmp_path / "out.mf4").open("wb") as file:
        write_mdf([Table("g", TIMES, (Column.of("Rev", "rpm", TIMES),))], file)
    assert header_of(tmp_path / "out.mf4") == datetime(1970, 1, 1)


@pytest.mark.parametrize("logs", [1, 2])
def test_a_ledger_says_when_its_one_log_began(logs: int, tmp_path: Path) -> None:
    book = account(climb(10.0), "climb.csv")
    dated = replace(book, log=replace(book.log, began=AT))
    write_ledger([dated] * logs, tmp_path / "ledger.mf4")
    assert header_of(tmp_path / "ledger.mf4") == (AT if logs == 1 else datetime(1970, 1, 1))


def test_a_disk_that_fills_up_prints_no_trace(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    close = MDF.close

    def closing(mdf: MDF) -> None:
        close(mdf)
        full()

    monkeypatch.setattr(MDF, "close", closing)
    monkeypatch.setattr(MDF, "append", full)
    path = table(tmp_path / "in.csv", [f"{t:.2f}" for t in TIMES])
    assert run(["convert", str(path), str(tmp_path / "out.mf4")]) == 2
    said = capfd.readouterr()
    assert "Traceback" not in said.out + said.err
    assert "on the disk for temporary files" in said.err
