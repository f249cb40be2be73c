"""Outputs appear whole or not at all, whatever goes wrong."""

import errno
import os
import signal
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO, NoReturn

import pytest

from tuneledger.errors import OutputError
from tuneledger.statement.output import Output, text_output, write_all
from tuneledger.statement.places import check_places


def left(folder: Path) -> dict[str, str]:
    """Everything in a folder, hidden files too."""
    return {p.name: p.read_text() for p in folder.iterdir() if p.is_file()}


def test_several_outputs_appear_together(tmp_path: Path) -> None:
    write_all([text_output(tmp_path / "a.json", "one"), text_output(tmp_path / "b.html", "zwei −")])
    assert left(tmp_path) == {"a.json": "one", "b.html": "zwei −"}


def test_where_one_output_fails_none_is_written_and_old_ones_stay(tmp_path: Path) -> None:
    (tmp_path / "a.json").write_text("old")

    def fail(_: BinaryIO) -> NoReturn:
        raise OSError(errno.EIO, "Input/output error")

    with pytest.raises(OutputError, match=r"b\.csv.*nothing was written"):
        write_all([text_output(tmp_path / "a.json", "new"), Output(tmp_path / "b.csv", fail)])
    assert left(tmp_path) == {"a.json": "old"}


def test_where_an_output_cannot_take_its_place_those_before_it_are_taken_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # In a folder that others may write to, one may make a file and still not replace another's.
    (tmp_path / "a").write_text("old a")
    (tmp_path / "c").write_text("old c")
    replace = Path.replace

    def guarded(self: Path, target: Path) -> Path:
        if target.name == "c":
            raise PermissionError(errno.EPERM, "Operation not permitted")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", guarded)
    with pytest.raises(OutputError, match=r"c: it may not be written here"):
        write_all([text_output(tmp_path / name, "new") for name in ("a", "b", "c")])
    assert left(tmp_path) == {"a": "old a", "c": "old c"}


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (errno.ENOSPC, "no room to write it"),
        (errno.EDQUOT, "no room to write it"),
        (errno.EROFS, "may not be written here"),
        (errno.EACCES, "may not be written here"),
        (errno.EIO, "could not be written"),
    ],
)
def test_each_failure_says_what_happened_and_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, says: str
) -> None:
    def fail(_: int) -> NoReturn:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(OutputError) as caught:
        write_all([text_output(tmp_path / "a.json", "one")])
    (fault,) = caught.value.faults
    assert says in fault.found
    assert fault.file is not None
    assert fault.file.endswith("a.json")
    assert fault.do
    assert left(tmp_path) == {}


def test_an_interruption_leaves_nothing_behind(tmp_path: Path) -> None:
    def interrupted(file: BinaryIO) -> NoReturn:
        file.write(b"half")
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_all([Output(tmp_path / "a.csv", interrupted)])
    assert left(tmp_path) == {}


def dangling(folder: Path) -> Path:
    """A link into a folder that is gone; the same one on a second call."""
    link = folder / "sub" / "dangling.json"
    link.symlink_to(folder / "gone" / "a.json")
    return link


CASES: dict[str, Callable[[Path], Path]] = {
    "does not exist": lambda folder: folder / "missing" / "a.json",
    "this is a folder": lambda folder: folder / "sub",
    "also an input": lambda folder: folder / "log.csv",
    "would be lost": lambda folder: folder / "sub" / ".." / "log.csv",
    "a link to '.*gone/a.json', and that folder does not exist": dangling,
}


@pytest.mark.parametrize("says", CASES)
def test_what_must_fail_is_refused_before_any_work(tmp_path: Path, says: str) -> None:
    (tmp_path / "sub").mkdir()
    (tmp_path / "log.csv").write_text("t,a\n0,1\n")
    with pytest.raises(OutputError, match=says):
        check_places([CASES[says](tmp_path)], [tmp_path / "log.csv"])
    assert left(tmp_path) == {"log.csv": "t,a\n0,1\n"}


def test_an_input_is_recognised_behind_a_link(tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text("t,a\n")
    (tmp_path / "other.csv").hardlink_to(tmp_path / "log.csv")
    (tmp_path / "third.csv").symlink_to("log.csv")
    for name in ("other.csv", "third.csv"):
        with pytest.raises(OutputError, match="also an input"):
            check_places([tmp_path / name], [tmp_path / "log.csv"])


def test_two_outputs_in_one_place_are_refused_and_all_faults_are_told_at_once(
    tmp_path: Path,
) -> None:
    with pytest.raises(OutputError) as caught:
        check_places([tmp_path / "a", tmp_path / "." / "a", tmp_path / "no" / "b"])
    assert len(caught.value.faults) == 2


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write everywhere")
def test_a_file_that_is_write_protected_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "a.json").write_text("kept")
    (tmp_path / "a.json").chmod(0o444)
    with pytest.raises(OutputError, match="may not be written here"):
        write_all([text_output(tmp_path / "a.json", "new")])
    assert left(tmp_path) == {"a.json": "kept"}


def test_a_link_keeps_pointing_where_it_does_and_permissions_stay(tmp_path: Path) -> None:
    real = tmp_path / "real.json"
    real.write_text("old")
    real.chmod(0o640)
    (tmp_path / "link.json").symlink_to("real.json")
    write_all([text_output(tmp_path / "link.json", "new")])
    assert (tmp_path / "link.json").is_symlink()
    assert real.read_text() == "new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


def test_a_new_file_obeys_the_users_mask(tmp_path: Path) -> None:
    old = os.umask(0o027)
    try:
        write_all([text_output(tmp_path / "a.json", "x")])
    finally:
        os.umask(old)
    assert stat.S_IMODE((tmp_path / "a.json").stat().st_mode) == 0o640


def test_an_open_pipe_is_written_straight_and_stays_a_pipe() -> None:
    """One that the program was handed open, as a shell does for `>(…)` and for /dev/stdout."""
    reading, writing = os.pipe()
    try:
        write_all([text_output(Path(f"/dev/fd/{writing}"), "through")])
        assert os.read(reading, 100) == b"through"
        assert stat.S_ISFIFO(os.fstat(writing).st_mode)
    finally:
        os.close(reading)
        os.close(writing)


def test_a_pipe_by_its_name_is_refused_before_anybody_waits_for_a_reader(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "link").symlink_to("pipe")
    for name in ("pipe", "link"):
        with pytest.raises(OutputError, match="may wait without end; nothing was written"):
            write_all([text_output(tmp_path / "a", "x"), text_output(tmp_path / name, "x")])
    assert left(tmp_path) == {}


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full here")
def test_a_full_device_is_told_and_the_other_output_is_not_written(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="no room"):
        write_all([text_output(tmp_path / "a", "x"), text_output(Path("/dev/full"), "y" * 9999)])
    assert left(tmp_path) == {}


SMALL_DISK = """
import resource, signal, sys
from pathlib import Path
from tests.statements import two_logs
from tuneledger.errors import OutputError
from tuneledger.statement.json import as_json, json_text
from tuneledger.statement.output import text_output, write_all
from tuneledger.statement.table import ledger_output

signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
statement = two_logs()
outputs = {
    "csv": ledger_output(statement.logs, Path("l.csv")),
    "parquet": ledger_output(statement.logs, Path("l.parquet")),
    "json": text_output(Path("s.json"), json_text(as_json(statement))),
}
for name, output in outputs.items():
    try:
        write_all([text_output(Path("small"), "fits"), output])
    except OutputError as error:
        print(name, error)
"""


def test_a_disk_that_fills_up_on_the_way_leaves_nothing_behind(tmp_path: Path) -> None:
    # A limit on the size of files is the same to a writer as a disk that is full.
    root = Path(__file__).parents[2]
    run = subprocess.run(
        [sys.executable, "-c", SMALL_DISK],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(root)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert [line.split()[0] for line in run.stdout.splitlines()] == ["csv", "parquet", "json"]
    assert run.stdout.count("there is no room to write it; nothing was written") == 3
    assert left(tmp_path) == {}


AGAIN_AND_AGAIN = """
import sys
from pathlib import Path
from tuneledger.statement.output import text_output, write_all
for _ in range(40):
    text = sys.argv[1] * 300_000
    write_all([text_output(Path("s.json"), text), text_output(Path("l.csv"), text)])
"""
HALF_WAY = """
import os, signal
from pathlib import Path
from tuneledger.statement.output import Output, text_output, write_all
def dying(file):
    file.write(b"half")
    file.flush()
    os.kill(os.getpid(), signal.SIGKILL)
write_all([text_output(Path("s.json"), "new"), Output(Path("l.csv"), dying)])
"""


def test_two_processes_on_one_output_leave_it_whole(tmp_path: Path) -> None:
    places = [tmp_path / "s.json", tmp_path / "l.csv"]
    running = [
        subprocess.Popen([sys.executable, "-c", AGAIN_AND_AGAIN, letter], cwd=tmp_path)
        for letter in "ab"
    ]
    seen: set[str] = set()
    while any(process.poll() is None for process in running):
        for place in places:
            if place.exists():
                text = place.read_text(encoding="utf-8")
                assert text in ("a" * 300_000, "b" * 300_000)
                seen.add(text[0])
    assert [process.returncode for process in running] == [0, 0]
    assert seen
    assert sorted(path.name for path in tmp_path.iterdir()) == ["l.csv", "s.json"]


@pytest.mark.skipif(sys.platform == "win32", reason="no such signal there")
def test_a_program_that_is_killed_while_it_writes_has_touched_no_output(tmp_path: Path) -> None:
    for name in ("s.json", "l.csv"):
        (tmp_path / name).write_text("old")
    done = subprocess.run([sys.executable, "-c", HALF_WAY], cwd=tmp_path, check=False)
    assert done.returncode == -signal.SIGKILL
    assert (tmp_path / "s.json").read_text() == (tmp_path / "l.csv").read_text() == "old"
    drafts = [path.name for path in tmp_path.iterdir() if path.name.endswith(".part")]
    assert len(drafts) == 2
    others = tmp_path / ".s.json.part"  # not a name that we give
    others.write_text("of somebody else")
    write_all([text_output(tmp_path / "s.json", "new"), text_output(tmp_path / "l.csv", "new")])
    assert left(tmp_path) == {"s.json": "new", "l.csv": "new", others.name: "of somebody else"}
