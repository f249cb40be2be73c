"""A module of this package, run in a process of its own with a bound on its time.

Libraries that read some formats break, or hang, over some kinds of damage; there they take nothing
with them. The process finds this package where its parent found it, and nothing else: the folder
in which somebody works may hold a stranger's files, and one of them may be called `json.py`.
"""

import os
import subprocess
import sys
from pathlib import Path


def run_apart(module: str, *arguments: str, seconds: float) -> "subprocess.CompletedProcess[bytes]":
    """Run a module as a program and wait; what it said is in the result.

    Raises `subprocess.TimeoutExpired` beyond so many seconds; the process is then ended.
    """
    search = os.pathsep.join(part for part in sys.path if Path(part).is_absolute())
    return subprocess.run(
        [sys.executable, "-P", "-m", module, *arguments],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=seconds,
        env={**os.environ, "PYTHONPATH": search},
        check=False,
    )
