"""Files from strangers that swell, never end or nest without measure: refused, and at once."""

import io
import os
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.calibrations.sheets import MAP, TOP, faults_of, with_corrections
from tuneledger.bounded import SHEET_BYTES, read_stream
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.check import MOST_CORRECTIONS
from tuneledger.change.edits import read_changes
from tuneledger.errors import LogError, TuneledgerError
from tuneledger.logs import open_log
from tuneledger.roles import read_roles_file

READERS: list[Callable[[Path], object]] = [open_calibration, read_roles_file, read_changes]
devices = pytest.mark.skipif(sys.platform == "win32", reason="no such devices there")


@devices
@pytest.mark.parametrize("read", READERS, ids=lambda read: read.__name__)
def test_what_does_not_end_is_read_no_further_than_its_bound(
    read: Callable[[Path], object],
) -> None:
    with pytest.raises(TuneledgerError, match=r"it holds more than \d MB"):
        read(Path("/dev/zero"))


def test_a_stream_is_read_to_its_bound_and_not_beyond() -> None:
    whole = io.BytesIO(b"a" * 50)
    assert read_stream(whole, 50) == b"a" * 50
    longer = io.BytesIO(b"a" * 5000)
    with pytest.raises(OSError, match="it holds more than"):
        read_stream(longer, 50)
    assert longer.tell() <= 51


@devices
def test_a_pipe_or_a_device_in_place_of_a_log_is_told_as_one(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "run.csv")
    for path in (tmp_path / "run.csv", Path("/dev/zero")):
        with pytest.raises(LogError, match=r"a pipe or a device, and no file.* Pipe it in, with -"):
            open_log(path)


@pytest.mark.parametrize(
    "nested",
    [
        "x = " + "[" * 50_000,
        "x = " + "{a = " * 50_000,
        "[" + "a." * 20_000 + "a]",
        "a" + ' . "b"' * 200 + " = 1",
        "x = {" + "'a'." * 100 + "b = 1}",
    ],
    ids=["lists", "braces", "heading", "quoted keys", "keys in braces"],
)
@pytest.mark.parametrize("read", READERS, ids=lambda read: read.__name__)
def test_what_is_nested_without_measure_is_refused_unparsed(
    read: Callable[[Path], object], nested: str, tmp_path: Path
) -> None:
    path = tmp_path / "deep.toml"
    path.write_text(f"{nested}\n{TOP}", encoding="utf-8")
    with pytest.raises(TuneledgerError, match=r"nested too deeply to be read|not a calibration"):
        read(path)


def test_rows_of_numbers_are_no_keys_of_many_parts() -> None:
    row = ", ".join(f"{n}.5" for n in range(200))
    points = ", ".join(str(n) for n in range(200))
    axis = f'{{ signal = "engine speed", unit = "rpm", at = [{points}] }}'
    assert faults_of(f"{TOP}[spark.map]\naxes = [{axis}]\nvalues = [{row}]\n") == []


def test_more_corrections_than_anybody_keeps_are_refused() -> None:
    bodies = ["amount = -1"] * (MOST_CORRECTIONS + 1)
    assert faults_of(with_corrections(*bodies)) == [
        f"spark.correction: {len(bodies)} corrections; expected at most {MOST_CORRECTIONS}"
    ]
    assert faults_of(with_corrections(*bodies[1:])) == []


def test_a_sheet_of_megabytes_is_refused_unparsed(tmp_path: Path) -> None:
    path = tmp_path / "rev-a.toml"
    path.write_text(TOP + MAP + "#" * SHEET_BYTES, encoding="utf-8")
    with pytest.raises(TuneledgerError, match="it holds more than 4 MB"):
        open_calibration(path)


@pytest.mark.parametrize("way", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_zip_of_which_a_few_bytes_become_gigabytes_at_once_is_not_unpacked(
    way: int, tmp_path: Path
) -> None:
    path = tmp_path / "mail.zip"
    with zipfile.ZipFile(path, "w", way) as archive:
        archive.writestr("run.csv", "Time [s],Revs\n" + "0.1,900\n" * 2000)
    with pytest.raises(LogError, match=r"another compression than deflate.*an ordinary zip"):
        open_log(path)
