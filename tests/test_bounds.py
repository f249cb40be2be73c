"""Files from strangers that swell, never end or nest without measure: refused, and at once."""

import io
import os
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.calibrations.sheets import MAP, TOP, faults_of, with_corrections
from tests.logs.test_detectors import mdf, workbook
from tests.patience import at_most
from tuneledger.bounded import RAISE, SHEET_BYTES, read_stream
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.check import MOST_CORRECTIONS
from tuneledger.change.edits import read_changes
from tuneledger.cli.main import run
from tuneledger.errors import LogError, TuneledgerError
from tuneledger.logs import open_log
from tuneledger.roles import read_roles_file

DEMO = Path(__file__).parents[1] / "demo"
READERS: list[Callable[[Path], object]] = [open_calibration, read_roles_file, read_changes]
devices = pytest.mark.skipif(sys.platform == "win32", reason="no such devices there")


@pytest.mark.parametrize("read", READERS, ids=lambda read: read.__name__)
def test_what_is_far_too_large_is_read_no_further_than_its_bound(
    read: Callable[[Path], object], tmp_path: Path
) -> None:
    with (tmp_path / "long.toml").open("wb") as file:
        file.truncate(1 << 40)  # a hole: it takes no room
    with pytest.raises(TuneledgerError, match=r"it holds more than \d MB"):
        read(tmp_path / "long.toml")


@devices
@pytest.mark.parametrize("read", READERS, ids=lambda read: read.__name__)
def test_what_does_not_end_is_not_even_opened(read: Callable[[Path], object]) -> None:
    with pytest.raises(TuneledgerError, match="it is a pipe or a device, and no file"):
        read(Path("/dev/zero"))


@pytest.mark.parametrize(
    ("problem", "says"),
    [
        (FileNotFoundError(2, "No such file"), "there is no such file"),
        (PermissionError(13, "Permission denied"), "Give yourself the right to read it"),
        (IsADirectoryError(21, "Is a directory"), "Name a file in it"),
        (OSError(40, "Too many levels of symbolic links"), "Too many levels of symbolic links"),
    ],
)
@pytest.mark.parametrize("read", READERS, ids=lambda read: read.__name__)
def test_what_may_not_be_read_is_told_by_every_reader_alike(
    read: Callable[[Path], object], problem: OSError, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> object:
        raise problem

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(TuneledgerError, match=says):
        read(Path("given.toml"))


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


LOG, SHEET = str(DEMO / "climb.csv"), str(DEMO / "rev-d.toml")
# `@` is the pipe: in turn every file that a command takes.
TAKE = {
    "reconcile a log": ["reconcile", "@", SHEET],
    "reconcile with a sheet": ["reconcile", LOG, "@"],
    "reconcile with roles": ["reconcile", LOG, SHEET, "--roles", "@"],
    "look": ["look", "@"],
    "look with roles": ["look", LOG, "--roles", "@"],
    "rehearse a log": ["rehearse", "@", SHEET, "--to", SHEET],
    "rehearse a sheet": ["rehearse", LOG, "@", "--to", SHEET],
    "rehearse a change": ["rehearse", LOG, SHEET, "--change", "@"],
    "rehearse another sheet": ["rehearse", LOG, SHEET, "--to", "@"],
    "rehearse with roles": ["rehearse", LOG, SHEET, "--to", SHEET, "--roles", "@"],
    "audit": ["audit", "@"],
    "audit with a log": ["audit", SHEET, "--log", "@"],
    "audit with roles": ["audit", SHEET, "--log", LOG, "--roles", "@"],
    "order": ["order", LOG, "@", "--to", SHEET, "--revision", "E"],
    "order a change": ["order", LOG, SHEET, "--change", "@", "--revision", "E"],
    "order another sheet": ["order", LOG, SHEET, "--to", "@"],
    "prove before": ["prove", "--before", "@", "--after", LOG, SHEET],
    "prove after": ["prove", "--before", LOG, "--after", "@", SHEET],
    "prove with a sheet": ["prove", "--before", LOG, "--after", LOG, "@"],
    "light": ["light", "@"],
    "convert": ["convert", "@", "out.csv"],
    "sheet check": ["sheet", "check", "@"],
    "sheet contents": ["sheet", "contents", "@"],
    "sheet from": ["sheet", "from", "@"],
    "sheet to": ["sheet", "to", "@", "out.cdfx"],
    "sheet to with a mapping": ["sheet", "to", SHEET, "out.cdfx", "--mapping", "@"],
    "sheet table into": ["sheet", "table", "@", "spark.map", "--from", SHEET],
    "sheet table": ["sheet", "table", SHEET, "spark.map", "--from", "@", "--out", "-"],
    "desk": ["desk", "--no-browser", "@"],
}


@devices
@pytest.mark.parametrize("taking", TAKE)
def test_no_command_waits_for_a_pipe_in_place_of_a_file(
    taking: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    os.mkfifo("pipe")
    with at_most(30.0):
        assert run(["pipe" if part == "@" else part for part in TAKE[taking]]) == 2
    shown = capsys.readouterr()
    assert "a pipe or a device, and no file" in shown.out + shown.err


@pytest.mark.parametrize(
    "nested",
    [
        "x = " + "[" * 50_000,
        "x = " + "{a = " * 50_000,
        "[" + "a." * 20_000 + "a]",
        "a" + ' . "b"' * 200 + " = 1",
        "x = {" + "'a'." * 100 + "b = 1}",
        "a          ." * 100 + "b = 1",
        f'"{"a" * 200}" . ' * 100 + "b = 1",
        r'"a\"b".' * 100 + "b = 1",
        'x = ["""\n' + "' " + '""", {' + "a." * 100 + "b = 1}]",
    ],
    ids=[
        "lists",
        "braces",
        "heading",
        "quoted keys",
        "keys in braces",
        "parts far apart",
        "long parts",
        "parts with quotes in them",
        "behind a text of two lines",
    ],
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


def test_dots_in_notes_and_texts_are_no_keys_of_many_parts() -> None:
    dotted = "a." * 200
    text = f'{TOP}# {dotted}\nnotes = """\n{dotted}\n"""\n'
    assert not any("nested" in fault for fault in faults_of(text))


def test_more_corrections_than_anybody_keeps_are_refused() -> None:
    bodies = ["amount = -1"] * (MOST_CORRECTIONS + 1)
    assert faults_of(with_corrections(*bodies)) == [
        f"spark.correction: {len(bodies)} corrections; expected at most {MOST_CORRECTIONS}. {RAISE}"
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


TIGHT = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30))
from tuneledger.logs import open_log
print(open_log(sys.argv[1]).samples)
"""


@devices
@pytest.mark.parametrize("write", [mdf, workbook], ids=lambda write: write.__name__)
def test_bounds_that_somebody_has_set_already_are_kept(
    write: Callable[[Path], object], tmp_path: Path
) -> None:
    """As `ulimit -v` does: what is read apart asks for no more than it was given."""
    write(tmp_path / "run")
    done = subprocess.run(
        [sys.executable, "-c", TIGHT, str(tmp_path / "run")],
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.strip() == "80", done.stderr
