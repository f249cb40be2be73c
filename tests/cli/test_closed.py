"""Where a stream is closed, or nobody reads it, a status tells what happened, and never a trace."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

DEMO = Path(__file__).parents[2] / "demo"
SHEET, LOG = str(DEMO / "rev-d.toml"), str(DEMO / "climb.csv")
CALLS = {
    "help": (["--help"], 0),
    "help of a command": (["sheet", "table", "--help"], 0),
    "answer": (["sheet", "check", SHEET], 0),
    "something to say": (["look", LOG, "--no-memory"], 1),
    "wrong call": (["nosuch"], 2),
    "no such file": (["sheet", "check", "nosuch.toml"], 2),
}
QUICK = [name for name in CALLS if name != "something to say"]
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="streams are not closed there")


def ended(call: list[str], closing: str) -> tuple[int, str, str]:
    """Status, output and errors of a command that the shell runs with some streams closed."""
    command = [sys.executable, "-m", "tuneledger", *call]
    done = subprocess.run(
        ["sh", "-c", f'exec "$@" {closing}', "sh", *command],
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout, done.stderr


@pytest.mark.parametrize("name", QUICK)
def test_closed_errors_leave_answer_and_status_as_they_are(name: str) -> None:
    call, status = CALLS[name]
    assert ended(call, "2>&-") == (status, *ended(call, "2>/dev/null")[1:])


@pytest.mark.parametrize("name", QUICK)
def test_a_closed_output_is_told_in_one_sentence(name: str) -> None:
    call, _ = CALLS[name]
    status, _, told = ended(call, ">&-")
    assert status == 2
    if name == "wrong call":  # it prints nothing there
        assert told.endswith("No such command 'nosuch'.\n")
    else:
        assert told.startswith("standard output: it is closed, so that nothing can be printed.")
        assert len(told.splitlines()) == 1
    assert ended(call, ">&- 2>&-") == (2, "", "")


@pytest.mark.parametrize("name", CALLS)
def test_nobody_reads_and_the_status_stays(name: str) -> None:
    call, status = CALLS[name]
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [sys.executable, "-m", "tuneledger", *call],
        stdout=writer,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    os.close(writer)
    assert done.returncode == status
    assert "Traceback" not in done.stderr
    assert "Sorry" not in done.stderr
