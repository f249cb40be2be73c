"""A log for the commands that take one log and nothing else."""

from pathlib import Path
from typing import TYPE_CHECKING

from tuneledger.cli.sizes import limits

if TYPE_CHECKING:
    from tuneledger.logs.model import Log


def open_given(path: Path, *, large: bool) -> "Log":
    """The log, or a LogError; a file that another command takes is told as what it is."""
    from tuneledger.calibrations.asam.tell import FIRST, SAYS, told
    from tuneledger.errors import Fault, LogError
    from tuneledger.logs.registry import open_one, read_log

    bounds = limits(large=large)
    source = open_one(path, bounds)
    kind = told(source.head)
    if kind is not None:
        found = f"this is {SAYS[kind]}"
        raise LogError(Fault(found, file=source.name, expected="a log", do=FIRST))
    return read_log(source, bounds)
