"""What a killed process leaves behind is cleared by the next; nothing else ever is."""

import os
import re
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.logs.packing import as_text, gzipped
from tuneledger.owned import clear_left_behind, hold, let_go
from tuneledger.private import PrivateFolder, _clear_once

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no such locks there")

OURS = re.compile(r"ours-\d")
WAITS = """
import sys
from tuneledger.private import PrivateFolder
folder = PrivateFolder(sys.argv[1])
folder.new_file().write_text("a stranger's log")
print(folder.path, flush=True)
sys.stdin.read()
"""


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Where temporary files go, before this process has made any."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    _clear_once.cache_clear()
    yield tmp_path
    _clear_once.cache_clear()


@contextmanager
def owner(room: Path, what: str = "files") -> Iterator[tuple["subprocess.Popen[str]", Path]]:
    """Another process with a folder of its own in there."""
    process = subprocess.Popen(
        [sys.executable, "-c", WAITS, what],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "TMPDIR": str(room)},
    )
    with process:
        assert process.stdout is not None
        yield process, Path(process.stdout.readline().strip())
        process.kill()


@pytest.mark.parametrize("what", ["files", "desk", "roles"])
def test_the_folder_of_a_killed_process_goes_with_the_next_that_needs_one(
    room: Path, what: str
) -> None:
    with owner(room, what) as (process, folder):
        process.send_signal(signal.SIGKILL)
        process.wait()
        assert (folder / "1").exists()
        own = PrivateFolder()
        assert list(room.iterdir()) == [own.path]
        own.remove()
    assert list(room.iterdir()) == []


def test_the_folder_of_a_living_process_stays(room: Path) -> None:
    with owner(room) as (_, folder):
        PrivateFolder().remove()
        assert (folder / "1").read_text() == "a stranger's log"


def test_a_folder_is_held_until_it_is_removed(room: Path) -> None:
    own = PrivateFolder()
    clear_left_behind(room, re.compile(r".*"))
    assert own.path.is_dir()
    own.remove()
    assert not own.path.exists()


def test_one_that_is_cleared_before_it_is_held_is_made_anew(
    room: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make, made = tempfile.mkdtemp, []

    def cleared_at_once(prefix: str) -> str:
        made.append(make(prefix=prefix))
        if len(made) == 1:
            clear_left_behind(room, re.compile(r".*"))
        return made[-1]

    monkeypatch.setattr(tempfile, "mkdtemp", cleared_at_once)
    own = PrivateFolder()
    assert len(made) == 2
    assert list(room.iterdir()) == [own.path]


def test_only_names_of_ours_are_cleared_and_no_link_is_followed(tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    kept.mkdir()
    (kept / "log.csv").write_text("a log")
    room = tmp_path / "room"
    room.mkdir()
    (room / "ours-1").mkdir()
    (room / "ours-1" / "link").symlink_to(kept, target_is_directory=True)
    (room / "ours-2").write_text("a draft")
    (room / "ours-3").symlink_to(kept, target_is_directory=True)
    (room / "ours-4").symlink_to(kept / "log.csv")
    os.mkfifo(room / "ours-5")
    (room / "ours-66").mkdir()
    (room / "yours-1").mkdir()
    clear_left_behind(room, OURS)
    left = {path.name for path in room.iterdir()}
    assert left == {"ours-3", "ours-4", "ours-5", "ours-66", "yours-1"}
    assert (kept / "log.csv").read_text() == "a log"


def test_what_belongs_to_another_user_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "ours-1").mkdir()
    with monkeypatch.context() as other:
        other.setattr(os, "getuid", lambda: 4711)
        clear_left_behind(tmp_path, OURS)
    assert (tmp_path / "ours-1").is_dir()
    clear_left_behind(tmp_path, OURS)
    assert not (tmp_path / "ours-1").exists()


def test_what_several_hold_goes_when_none_does(tmp_path: Path) -> None:
    shared = tmp_path / "ours-1"
    shared.write_text("what was there before")
    one, other = hold(shared, shared=True), hold(shared, shared=True)
    let_go(one)
    clear_left_behind(tmp_path, OURS)
    assert shared.exists()
    let_go(other)
    clear_left_behind(tmp_path, OURS)
    assert not shared.exists()


def test_where_there_are_no_locks_nothing_is_cleared(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "ours-1").mkdir()
    monkeypatch.setattr("tuneledger.owned.fcntl", None)
    let_go(hold(tmp_path / "ours-1"))
    clear_left_behind(tmp_path, OURS)
    assert (tmp_path / "ours-1").is_dir()


def test_a_reading_that_is_killed_leaves_nothing_for_long(tmp_path: Path) -> None:
    log, room = tmp_path / "run.csv", tmp_path / "room"
    room.mkdir()
    as_text(log)
    gzipped(tmp_path / "run.gz", log.read_bytes())
    with owner(room) as (process, _):
        process.send_signal(signal.SIGKILL)
    done = subprocess.run(
        [sys.executable, "-m", "tuneledger", "look", str(tmp_path / "run.gz")],
        env={**os.environ, "TMPDIR": str(room)},
        capture_output=True,
        check=False,
    )
    assert done.returncode in (0, 1), done.stderr
    assert list(room.iterdir()) == []
