"""What a stranger hands over is opened only if it is a file, and taken in within a bound."""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO

MEGABYTE = 1 << 20
SHEET_BYTES = 4 * MEGABYTE  # some six hundred thousand cells
LONGEST_TEXT = 1000  # in a cell: longer than a number, a clock time or a switch can be
IN_PLACE_OF_LONG_TEXT = "(a long text)"

RAISE = "If you trust where the file comes from, give --large to raise the limits tenfold."
_RAISED = "--large has raised the limits already; nothing raises them further."
_TENFOLD = 10


class _Now:
    times = 1  # the usual bounds


@contextmanager
def raised_limits() -> Iterator[None]:
    """All bounds on files are tenfold in here, in every thread: one command, one word of trust.

    Who hands files over says so once, for all of them; so it is no argument of every reader.
    """
    before, _Now.times = _Now.times, _TENFOLD
    try:
        yield
    finally:
        _Now.times = before


def at_most(usual: int) -> int:
    """A bound as it holds now: the usual one, or ten times as much within `raised_limits`."""
    return usual * _Now.times


def are_raised() -> bool:
    """Whether the bounds are raised."""
    return _Now.times > 1


def how_to_raise() -> str:
    """What to do about a file that is beyond a bound, as a sentence."""
    return _RAISED if are_raised() else RAISE


def raised_by() -> str:
    """The same as an aside behind a phrase: ` (--large raises that)`, or nothing."""
    return "" if are_raised() else " (--large raises that)"


class TooLargeError(OSError):
    """More than may be taken in."""

    def __init__(self, most: int) -> None:
        super().__init__(errno.EFBIG, f"it holds more than {most // MEGABYTE} MB")


class NoFileError(OSError):
    """A pipe or a device stands where a file should: one may wait for ever, the other never end."""

    def __init__(self) -> None:
        super().__init__(errno.EINVAL, "it is a pipe or a device, and no file")


def open_plain(path: Path) -> BinaryIO:
    """A file, open to be read. NoFileError for a pipe or a device, which is not even opened."""
    if path.exists() and not (path.is_file() or path.is_dir()):
        raise NoFileError
    return path.open("rb")


def read_whole(path: Path, most: int = SHEET_BYTES) -> bytes:
    """A file's bytes. OSError, with words for it, where it cannot be read or holds more.

    most: the usual bound
    """
    with open_plain(path) as file:
        return read_stream(file, most)


def read_stream(file: BinaryIO, most: int = SHEET_BYTES) -> bytes:
    """The same of what is open already, such as what is piped in."""
    data = file.read(at_most(most) + 1)
    if len(data) > at_most(most):
        raise TooLargeError(at_most(most))
    return data


def why_unread(problem: OSError | ValueError) -> tuple[str, str]:
    """The operating system's refusal of a file, and what to do about it, in words."""
    if isinstance(problem, NoFileError):
        return "it is a pipe or a device, and no file", "Save it as a file, and name that."
    if isinstance(problem, TooLargeError):
        return str(problem.strerror), how_to_raise()
    if isinstance(problem, FileNotFoundError):
        return "there is no such file", "Check the name."
    if isinstance(problem, IsADirectoryError):
        return "this is a folder", "Name a file in it."
    if isinstance(problem, PermissionError):
        return "it may not be read", "Give yourself the right to read it."
    reason = problem.strerror if isinstance(problem, OSError) else None
    return f"it cannot be read ({reason or problem})", "Name another file."


def json_of(text: str | bytes) -> Any:
    """What JSON holds; None where it is none, or is nested without measure."""
    import json  # few calls need it

    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


def bound_process(memory: int, seconds: int) -> None:
    """Bounds on all that this process may still take; tighter ones that it was given stay.

    memory: bytes of address space; seconds: of the processor, all threads together
    """
    try:
        import resource
    except ImportError:  # no such bounds on this system
        return
    for what, wanted in ((resource.RLIMIT_AS, memory), (resource.RLIMIT_CPU, seconds)):
        _, given = resource.getrlimit(what)
        most = wanted if given == resource.RLIM_INFINITY else min(wanted, given)
        resource.setrlimit(what, (most, most))
