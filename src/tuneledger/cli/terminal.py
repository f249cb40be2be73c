"""Writing to whoever reads: a terminal, a pipe, or a pipe that has been closed."""

import os
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from tuneledger.statement.output import Output

# For terminals and pipes whose encoding lacks our signs.
_PLAIN = str.maketrans({"−": "-", "°": " deg", "─": "-", "·": ".", "…": "~", "×": "x"})

PRINTED = Path("-")  # standard output as a target, standard input as a source

NO_ACCOUNT = "there is no account to write."
TALLEST = 60  # lines; a statement is read at a glance or not at all
SHORTEST = 30


def open_what_is_closed() -> None:
    """Something in the place of streams that the caller has closed (`>&-`).

    Else a file that is opened later would take their numbers. Standard output then refuses what is
    printed, as a full disk does; of what is told on standard error there is nobody to be told.
    """
    for number, name, way in (
        (0, "stdin", os.O_RDONLY),
        (1, "stdout", os.O_RDONLY),
        (2, "stderr", os.O_WRONLY),
    ):
        if getattr(sys, name) is not None:
            continue
        handle = os.open(os.devnull, way)
        if handle != number:
            os.dup2(handle, number)
            os.close(handle)
        stream = os.fdopen(number, "w" if number else "r", encoding="utf-8", closefd=False)
        setattr(sys, name, stream)


def has_colour(stream: TextIO) -> bool:
    """Whether to write colour codes: to a terminal, unless NO_COLOR is set or it is a dumb one."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return False
    return stream.isatty()


def page_size(stream: TextIO) -> tuple[int, int]:
    """(width in cells, height in lines) of a screen; 80 by 40 where there is none."""
    if not stream.isatty():
        return 80, 40
    size = shutil.get_terminal_size((80, 42))
    return size.columns, min(max(size.lines - 2, SHORTEST), TALLEST)


def say(text: str, stream: TextIO | None = None) -> None:
    """Write text as the stream can take it. A reader that has gone away is no error.

    OutputError where standard output takes nothing; of errors that cannot be told there is nobody
    to tell.
    """
    out = stream or sys.stdout
    try:
        out.write(_fitting(text, out.encoding or "utf-8"))
        out.flush()
    except BrokenPipeError:
        _let_go(out)
    except OSError as problem:
        _let_go(out)
        if out is not sys.stderr:
            from tuneledger.errors import OutputError
            from tuneledger.statement.places import not_taken

            raise OutputError(not_taken(problem.errno, problem.strerror)) from problem


def _let_go(out: TextIO) -> None:
    """Python writes what is left at its end; give that somewhere to go."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, out.fileno())
    os.close(nowhere)


def not_written(what: str, path: Path, why: str) -> None:
    """Tell that an output was asked for and there is none."""
    from tuneledger.wording import visible

    say(visible(f"No {what} for {path}: {why}") + "\n", sys.stderr)


def written(outputs: Sequence["Output"]) -> str:
    """The last line of what is printed: the files that were written, if any."""
    from tuneledger.wording import listing, visible

    names = [visible(str(output.path)) for output in outputs]
    return f"Written    {listing(names)}\n" if names else ""


def _fitting(text: str, encoding: str) -> str:
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return text.translate(_PLAIN).encode(encoding, "backslashreplace").decode(encoding)
    return text
