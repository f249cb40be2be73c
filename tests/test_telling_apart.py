"""Every way of telling a file by its content, against samples of every other format.

The samples are those that are damaged elsewhere: several dresses of each format of logs, sheets and
calibrations.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.fuzz.samples import SAMPLES
from tuneledger.calibrations import looks_like_sheet
from tuneledger.calibrations.asam.mapping.detect import is_mapping
from tuneledger.calibrations.asam.tell import told
from tuneledger.cli.main import run
from tuneledger.logs import FORMATS
from tuneledger.logs.packed import is_packed
from tuneledger.logs.source import Source, open_source

LOGS = {form: form for form in ("delimited text", "Parquet", "Arrow IPC", "workbook")} | {
    "MDF 4": "ASAM MDF",
    "MDF 3": "ASAM MDF",
}
CALIBRATIONS = {
    "description": "description",
    "Intel HEX": "image",
    "S-record": "image",
    "calibration data": "instances",
}
SHEET = Path(__file__).parents[1] / "demo" / "rev-d.toml"
TOML = ("roles", "changes")  # that are neither logs nor sheets


def said_of(source: Source) -> set[str]:
    """Everything that anybody takes it for."""
    out = {form.name for form in FORMATS if form.detect(source)}
    out |= {"packed"} if is_packed(source) else set()
    out |= {"sheet"} if looks_like_sheet(source.head) else set()
    kind = told(source.head)
    return out | ({kind} if kind else set())


def sources(form: str, folder: Path) -> Iterator[Source]:
    for number, data in enumerate(SAMPLES[form](folder)):
        path = folder / f"{number}.unnamed"
        path.write_bytes(data)
        yield open_source(path)


@pytest.mark.parametrize(
    ("form", "name"),
    [
        *LOGS.items(),
        *CALIBRATIONS.items(),
        ("gzip and zip", "packed"),
        *((form, "sheet") for form in ("sheet", "mapping")),
    ],
)
def test_one_claims_a_file_and_all_others_leave_it_alone(
    form: str, name: str, tmp_path: Path
) -> None:
    found = list(sources(form, tmp_path))
    assert found
    assert [said_of(source) for source in found] == [{name}] * len(found)


@pytest.mark.parametrize("form", TOML)
def test_what_is_neither_log_nor_calibration_is_claimed_by_nobody(
    form: str, tmp_path: Path
) -> None:
    assert [said_of(source) for source in sources(form, tmp_path)] == [set()]


def test_every_format_is_among_them() -> None:
    beside = {"gzip and zip", "sheet", "mapping", *TOML, "pasted block", "light readings"}
    dressed = {"MDF unfinished", "MDF of frames", "desk request"}  # of formats named already
    assert set(SAMPLES) - dressed == {*LOGS, *CALIBRATIONS, *beside}
    assert {form.name for form in FORMATS} == set(LOGS.values())


@pytest.mark.parametrize("form", CALIBRATIONS)
@pytest.mark.parametrize("command", ["look", "convert", "audit"])
def test_a_calibration_in_the_place_of_a_log_is_told_as_what_it_is(
    command: str, form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = next(sources(form, tmp_path))
    out = [str(tmp_path / "out.csv")] if command == "convert" else []
    given = [str(SHEET), "--log"] if command == "audit" else []
    assert run([command, *given, str(source.path), *out]) == 2
    said = capsys.readouterr().err
    assert "expected a log. Make a sheet of it first" in said
    assert "`tuneledger sheet from`" in said
    assert not (tmp_path / "out.csv").exists()


@pytest.mark.parametrize("form", CALIBRATIONS)
def test_a_calibration_in_the_place_of_readings_is_told_as_what_it_is(
    form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = next(sources(form, tmp_path))
    assert run(["light", str(source.path)]) == 2
    assert "expected readings of a timing light. Make a sheet" in capsys.readouterr().err


@pytest.mark.parametrize(("form", "is_one"), [("mapping", True), ("sheet", False)])
def test_a_mapping_is_told_from_a_sheet(form: str, is_one: bool, tmp_path: Path) -> None:
    assert {is_mapping(data) for data in SAMPLES[form](tmp_path)} == {is_one}
