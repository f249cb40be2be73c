"""A log for the commands that take one log and nothing else."""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tuneledger.logs.model import Log


def open_given(path: Path) -> "Log":
    """The log, or a LogError; a file that another command takes is told as what it is."""
    from tuneledger.supplied import open_one_log

    return open_one_log(path)
