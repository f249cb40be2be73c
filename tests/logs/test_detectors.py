"""Every detector against a sample of every format: one claims it, the others leave it alone."""

from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl import Workbook

from tests.logs.packing import as_text, gzipped, table, zipped
from tuneledger.errors import LogError
from tuneledger.logs import FORMATS, open_log
from tuneledger.logs.packed import is_packed
from tuneledger.logs.registry import begin_log
from tuneledger.logs.source import open_source
from tuneledger.logs.writing.mdf import write_mdf
from tuneledger.logs.writing.model import Column, Table


def parquet(path: Path) -> None:
    table().write_parquet(path)


def arrow(path: Path) -> None:
    table().write_ipc(path)


def arrow_stream(path: Path) -> None:
    table().write_ipc_stream(path)


def mdf(path: Path) -> None:
    times = table().to_series(0).to_numpy()
    with path.open("wb") as file:
        write_mdf([Table("g", times, (Column.of("Revs", "rpm", times),))], file)


def workbook(path: Path) -> None:
    book = Workbook()
    for row in [table().columns, *table().rows()]:
        book.active.append(list(row))
    book.save(path)


SAMPLES: dict[str, tuple[str, Callable[[Path], object]]] = {
    "parquet": ("Parquet", parquet),
    "arrow": ("Arrow IPC", arrow),
    "arrow stream": ("Arrow IPC", arrow_stream),
    "mdf": ("ASAM MDF", mdf),
    "workbook": ("workbook", workbook),
    "text": ("delimited text", as_text),
}


@pytest.mark.parametrize(("name", "write"), SAMPLES.values(), ids=SAMPLES)
def test_one_format_claims_a_file_whatever_it_is_called(
    name: str, write: Callable[[Path], object], tmp_path: Path
) -> None:
    path = tmp_path / "unnamed"
    write(path)
    source = open_source(path)
    assert [form.name for form in FORMATS if form.detect(source)] == [name]
    assert not is_packed(source)


def test_an_archive_is_no_log_itself(tmp_path: Path) -> None:
    content = as_text(tmp_path / "run.csv").read_bytes()
    for path in (
        gzipped(tmp_path / "a", content),
        zipped(tmp_path / "b", {"run.csv": content}),
    ):
        source = open_source(path)
        assert is_packed(source)
        assert not any(form.detect(source) for form in FORMATS)


@pytest.mark.parametrize(
    "write",
    [
        as_text,
        lambda path: table().write_parquet(path),
        lambda path: table().write_ipc(path),
        lambda path: table().write_ipc_stream(path),
    ],
    ids=["text", "parquet", "arrow file", "arrow stream"],
)
def test_the_names_of_a_log_are_known_before_it_is_read(
    write: Callable[[Path], object], tmp_path: Path
) -> None:
    file = tmp_path / "log"
    write(file)
    begun = begin_log(open_source(file))
    assert begun.names() == tuple(channel.name for channel in begun.log().channels)


def test_a_toml_file_that_is_no_sheet_is_not_told_to_come_from_a_logger(tmp_path: Path) -> None:
    file = tmp_path / "notes.toml"
    file.write_text("[tool]\nx = 1\n")
    with pytest.raises(LogError, match="neither a calibration sheet nor a log"):
        open_log(file)


def test_a_sheet_in_the_place_of_a_log_is_called_a_sheet(tmp_path: Path) -> None:
    file = tmp_path / "rev-a.toml"
    file.write_text('format = "tuneledger-calibration/1"\nrevision = "A"\n')
    with pytest.raises(LogError, match="this is a calibration sheet; expected a log"):
        open_log(file)
