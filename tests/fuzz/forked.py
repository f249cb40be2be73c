"""What reads MDF apart, forked from a process that has imported its library once.

A process of its own for every file is how the program does it, and costs most of a second; over
thousands of files that is all that would be measured. The same function runs here, within the same
bounds on memory and time.
"""

import multiprocessing
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

DEVNULL, TimeoutExpired = subprocess.DEVNULL, subprocess.TimeoutExpired  # as the caller has them

_SERVER = multiprocessing.get_context("forkserver")
_SERVER.set_forkserver_preload(["tests.fuzz.imported", "tests.fuzz.uses"])

_PATIENCE = 20.0  # seconds; the library hangs over some files, which are refused at the limit


def run(
    command: Sequence[str], *, timeout: float, **_: Any
) -> "subprocess.CompletedProcess[bytes]":
    """In place of `subprocess.run` for `python -m tuneledger.logs.mdf.child ARGUMENTS`."""
    assert command[1:3] == ["-m", "tuneledger.logs.mdf.child"]
    with tempfile.TemporaryDirectory() as folder:
        said = Path(folder, "said")
        said.touch()
        process = _SERVER.Process(target=_read, args=(command[3:], str(said)))
        process.start()
        process.join(min(timeout, _PATIENCE))
        if process.is_alive():
            process.kill()
            process.join()
            raise subprocess.TimeoutExpired(list(command), timeout)
        status = process.exitcode
        assert status is not None
        return subprocess.CompletedProcess(list(command), status, b"", said.read_bytes())


def _read(arguments: list[str], said: str) -> None:
    words = os.open(said, os.O_WRONLY)
    os.dup2(words, 1)  # the library prints, too
    os.dup2(words, 2)
    from tuneledger.logs.mdf.child import main

    sys.exit(main(arguments))
