"""The program as a whole: help, faults of its own, interruption, pipes, and a fast start."""

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import click
import pytest

from tests.cli.conftest import Answering
from tests.statements import explained_by_charge_air
from tuneledger.cli import terminal
from tuneledger.cli.docs import page, walk
from tuneledger.cli.main import run
from tuneledger.cli.registry import COMMANDS

ROOT = Path(__file__).parents[2]
COMMAND_PATHS = {" ".join(path): command for path, command in walk()}


@pytest.mark.parametrize("name", COMMAND_PATHS)
def test_every_command_and_every_option_has_help(name: str) -> None:
    command = COMMAND_PATHS[name]
    assert command.help
    assert isinstance(command, click.Group) or "Exit status: 0 " in " ".join(command.help.split())
    for parameter in command.params:
        if parameter.param_type_name == "option":
            assert parameter.help, f"{name} {parameter.name}"  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", COMMANDS)
def test_the_list_says_of_a_command_what_the_command_says_of_itself(name: str) -> None:
    own = (COMMAND_PATHS[f"tuneledger {name}"].help or "").splitlines()[0]
    assert own == COMMANDS[name].help


def test_the_page_of_the_command_line_is_up_to_date() -> None:
    written = (ROOT / "docs" / "cli.md").read_text(encoding="utf-8")
    assert written == page(), "make it anew: python -m tuneledger.cli.docs docs/cli.md"


LOADED = """
import sys
from tuneledger.cli.main import run
try:
    run({arguments!r})
except SystemExit:
    pass
print(" ".join(sys.modules), file=sys.stderr)
"""


@pytest.mark.parametrize("arguments", [["--help"], ["reconcile", "--help"], ["--version"]])
def test_the_start_loads_nothing_heavy(arguments: list[str]) -> None:
    out = subprocess.run(
        [sys.executable, "-c", LOADED.format(arguments=arguments)],
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = set(out.stderr.split())
    assert "click" in loaded
    heavy = {"numpy", "polars", "pydantic", "rich", "tomllib", "json", "tuneledger.statement.model"}
    assert not heavy & loaded
    if arguments == ["--help"]:
        own = {m for m in loaded if m.startswith("tuneledger")}
        assert own <= {"tuneledger", "tuneledger.errors", "tuneledger.record", "tuneledger.cli"} | {
            f"tuneledger.cli.{m}" for m in ("main", "group", "registry", "terminal")
        }


def test_an_unknown_command_is_a_wrong_call(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["recon"]) == 2
    assert "No such command" in capsys.readouterr().err


def test_a_file_without_a_command_is_met_with_the_command_to_use(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["log.csv", "rev.toml"]) == 2
    assert "Try: tuneledger reconcile log.csv rev.toml" in capsys.readouterr().err
    Path("runs").mkdir()
    assert run(["runs"]) == 2
    assert "'runs' is a folder. Name the files in it" in capsys.readouterr().err


def test_the_version_is_the_packages(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == 0
    assert capsys.readouterr().out.startswith("tuneledger 0.")


class Panic(BaseException):
    """What a library written in another language may throw: not an Exception."""


@pytest.mark.parametrize(
    "problem", [ZeroDivisionError("oops \x1b[31m"), Panic("oops"), MemoryError()]
)
def test_a_fault_of_the_program_is_an_apology_and_never_a_traceback(
    problem: BaseException, answering: Answering, capsys: pytest.CaptureFixture[str]
) -> None:
    answering(problem)
    assert run(["reconcile", "log.csv", "--json", "s.json"]) == 70
    printed = capsys.readouterr()
    assert printed.err.startswith("Sorry")
    assert type(problem).__name__ in printed.err
    assert "Traceback" not in printed.err
    assert "\x1b" not in printed.err
    assert printed.out == ""
    assert not Path("s.json").exists()


def test_the_whole_trace_is_shown_on_request(
    answering: Answering, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TUNELEDGER_DEBUG", "1")
    answering(ZeroDivisionError("oops"))
    assert run(["reconcile", "log.csv"]) == 70
    assert "Traceback" in capsys.readouterr().err


def test_an_interruption_is_clean(answering: Answering, capsys: pytest.CaptureFixture[str]) -> None:
    answering(KeyboardInterrupt())
    assert run(["reconcile", "log.csv", "--json", "s.json"]) == 130
    assert capsys.readouterr().err.strip() == "Stopped."
    assert not Path("s.json").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="no such signals there")
@pytest.mark.parametrize("way", [signal.SIGTERM, signal.SIGINT])
def test_a_program_that_is_ended_leaves_no_copy_of_a_log_behind(
    way: signal.Signals, tmp_path: Path
) -> None:
    waiting = subprocess.Popen(
        [sys.executable, "-m", "tuneledger", "look", "-"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "TMPDIR": str(tmp_path)},
    )
    assert waiting.stdin is not None
    waiting.stdin.write(b"Time (s),Rev\n" * 100_000)
    waiting.stdin.flush()
    while not list(tmp_path.glob("tuneledger-*/1")):
        assert waiting.poll() is None
        time.sleep(0.01)
    for _ in range(9):  # Python does not see a signal in the instant before it waits for input
        waiting.send_signal(way)
        with suppress(subprocess.TimeoutExpired):
            waiting.wait(timeout=1)
            break
    assert waiting.returncode == 130
    assert not list(tmp_path.glob("tuneledger-*"))
    for pipe in (waiting.stdin, waiting.stdout, waiting.stderr):
        if pipe is not None:
            pipe.close()


PIPED = """
import sys
from types import SimpleNamespace
from tests.statements import explained_by_charge_air as made
sys.modules["tuneledger.main_job"] = SimpleNamespace(reconcile_files=lambda *a, **k: made())
from tuneledger.cli.main import run
sys.exit(run(["reconcile", "log.csv"]))
"""


def piped(**environment: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", PIPED],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
    )


def test_a_reader_that_goes_away_is_no_error_and_the_status_stays() -> None:
    process = piped()
    assert process.stdout is not None
    process.stdout.close()
    assert process.wait() == 1
    assert process.stderr is not None
    assert process.stderr.read() == b""
    process.stderr.close()


def test_a_reader_without_our_signs_gets_plain_ones() -> None:
    out, err = piped(PYTHONIOENCODING="ascii").communicate()
    assert err == b""
    assert b"took -1.6 deg for" in out


def test_colour_is_for_terminals_only_and_not_where_it_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    class Screen:
        def isatty(self) -> bool:
            return True

    class Pipe:
        def isatty(self) -> bool:
            return False

    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    assert terminal.has_colour(Screen())  # type: ignore[arg-type]
    assert not terminal.has_colour(Pipe())  # type: ignore[arg-type]
    monkeypatch.setenv("NO_COLOR", "1")
    assert not terminal.has_colour(Screen())  # type: ignore[arg-type]
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("TERM", "dumb")
    assert not terminal.has_colour(Screen())  # type: ignore[arg-type]


def test_what_is_piped_is_plain_text(
    answering: Answering, capsys: pytest.CaptureFixture[str]
) -> None:
    answering(explained_by_charge_air())
    run(["reconcile", "log.csv"])
    assert "\x1b" not in capsys.readouterr().out


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full here")
@pytest.mark.parametrize(
    "asked", [["signals"], ["--help"], ["order", "--help"], ["--version"], ["sheet", "new"]]
)
def test_where_nothing_can_be_printed_a_plain_sentence_says_so(asked: list[str]) -> None:
    with Path("/dev/full").open("wb") as full:
        ended = subprocess.run(
            [sys.executable, "-m", "tuneledger", *asked],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert ended.returncode == 2
    assert ended.stderr.startswith("standard output: there is no room for what is printed.")
    assert len(ended.stderr.splitlines()) == 1
