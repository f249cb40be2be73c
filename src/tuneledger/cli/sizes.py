"""What the commands that read a stranger's files have in common."""

from collections.abc import Callable, Sequence
from functools import wraps
from pathlib import Path

import click

from tuneledger.bounded import raised_limits

PIPED = Path("-")


def large(command: Callable[..., int]) -> Callable[..., int]:
    """The option --large: with it the command runs with all limits on files raised."""

    @wraps(command)
    def within(*given: object, large: bool, **named: object) -> int:
        if not large:
            return command(*given, **named)
        with raised_limits():
            return command(*given, **named)

    return click.option(
        "--large", is_flag=True, help="Raise the limits on the size of files tenfold."
    )(within)


def given(files: Sequence[Path]) -> list[Path]:
    """The files that have a place of their own, which no output may take."""
    return [path for path in files if path != PIPED]
