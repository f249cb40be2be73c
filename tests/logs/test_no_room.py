"""A disk that is full where temporary files go: a sentence for every format that needs them.

A bound on the size of files stands for the full disk: writing fails in the same way, half done.
"""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.logs.packing import as_text, gzipped, zipped
from tests.logs.test_detectors import mdf, workbook

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no such bound on files there")

OPEN = """
import resource, signal, sys, tempfile
from tuneledger.errors import LogError
from tuneledger.logs import open_log
from tuneledger.logs.delimited import grid
grid.IN_MEMORY = 0
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
tempfile.tempdir = sys.argv[2]
try:
    open_log(sys.argv[1])
except LogError as problem:
    print(problem)
"""


def said(path: Path, room: Path, piped: bytes = b"") -> str:
    done = subprocess.run(
        [sys.executable, "-c", OPEN, str(path), str(room)],
        input=piped,
        capture_output=True,
        check=True,
    )
    return done.stdout.decode()


def in_a_gzip(path: Path) -> None:
    gzipped(path, as_text(path.with_name("run.csv")).read_bytes())


def in_a_zip(path: Path) -> None:
    zipped(path, {"run.csv": as_text(path.with_name("run.csv")).read_bytes()})


def with_lone_returns(path: Path) -> None:
    path.write_bytes(as_text(path).read_bytes().replace(b"\n", b"\r"))


@pytest.mark.parametrize(
    "write",
    [as_text, with_lone_returns, in_a_gzip, in_a_zip, mdf, workbook],
    ids=lambda w: w.__name__,
)
def test_a_log_is_refused_and_nothing_is_left(
    write: Callable[[Path], object], tmp_path: Path
) -> None:
    room = tmp_path / "room"
    room.mkdir()
    write(tmp_path / "run.bin")
    told = said(tmp_path / "run.bin", room)
    assert told.startswith("run.bin: it cannot be ")
    assert "File too large" in told
    assert "Make room" in told
    assert not list(room.iterdir())


def test_what_is_piped_in_is_refused_as_well(tmp_path: Path) -> None:
    text = as_text(tmp_path / "run.csv").read_bytes()
    assert "standard input: it cannot be kept on the disk" in said(Path("-"), tmp_path, text)


def test_where_no_folder_can_be_made_it_is_said(tmp_path: Path) -> None:
    in_a_gzip(tmp_path / "run.gz")
    told = said(tmp_path / "run.gz", tmp_path / "gone")
    assert "no folder for temporary files can be made (No such file or directory)" in told
