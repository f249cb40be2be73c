"""Where outputs may go, and how it is told where the system refuses them."""

import errno
import os
import stat
from collections.abc import Iterable, Sequence
from pathlib import Path

from tuneledger.errors import Fault, OutputError

_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
_NOT_ALLOWED = (errno.EACCES, errno.EPERM, errno.EROFS)


def check_places(paths: Sequence[Path], inputs: Iterable[Path] = ()) -> None:
    """Refuse what can be seen to fail before any work is done.

    Raises OutputError with all faults: a folder that is missing, a target that is a folder, one
    that is also an input, two outputs to one place, one that was to be printed and cannot be.
    """
    given = list(inputs)
    faults = [fault for path in paths for fault in _misplaced(path, given)]
    real = [real_place(path) for path in paths if not is_stream(path)]
    twice = sorted({str(path) for path in real if real.count(path) > 1})
    faults += [
        Fault(
            "two outputs of this call would go into this file",
            file=path,
            do="Give each output a name of its own.",
        )
        for path in twice
    ]
    if faults:
        raise OutputError(faults)


def keep_what_is_there(path: Path) -> None:
    """OutputError where a file stands that was not to be written over."""
    if _mode(path) is not None and not is_stream(path) and not path.is_dir():
        found = "the file exists, and what is in it would be lost; nothing was written"
        raise OutputError(Fault(found, file=str(path), do="Choose another name, or say --force."))


def real_place(path: Path) -> Path:
    """Where a path leads: a link keeps pointing where it does. Never raises."""
    return Path(os.path.realpath(path))


def is_stream(path: Path) -> bool:
    """Whether the path is a device or a pipe, which can only be written straight."""
    try:
        mode = _mode(path)
    except OutputError:
        return False
    return mode is not None and not (stat.S_ISREG(mode) or stat.S_ISDIR(mode))


def refused(path: Path, number: int | None, words: str | None = None) -> Fault:
    """The operating system's refusal of an output, by its number, in words."""
    folder = path.parent
    if number in _NO_ROOM:
        found, do = "there is no room to write it", "Free some space or choose another place."
    elif number in _NOT_ALLOWED:
        found = "it may not be written here"
        do = "Choose a place that you may write to, or change its permissions."
    elif number in (errno.ENOENT, errno.ENOTDIR):
        found, do = f"the folder '{folder}' does not exist", "Create it or choose another place."
    elif number == errno.EISDIR:
        found, do = "this is a folder", "Name a file in it."
    elif number == errno.ELOOP:
        found, do = "the link leads in a circle", "Remove it or choose another name."
    elif number in (errno.ENAMETOOLONG, errno.EINVAL):
        found, do = "the name cannot be used for a file here", "Choose another name."
    else:
        found = f"it could not be written ({words or 'the reason is not known'})"
        do = "Try another place."
    return Fault(f"{found}; nothing was written", file=str(path), do=do)


def not_taken(number: int | None, words: str | None = None) -> Fault:
    """That standard output takes nothing, by the operating system's number, in words."""
    if number == errno.EBADF:
        found, do = "it is closed, so that nothing can be printed", "Print to a terminal or a file."
        return Fault(found, file="standard output", do=do)
    found = (
        "there is no room for what is printed"
        if number in _NO_ROOM
        else f"what is printed could not be written ({words or 'the reason is not known'})"
    )
    do = "Print to another place, or free some space."
    return Fault(found, file="standard output", do=do)


def _misplaced(path: Path, inputs: list[Path]) -> list[Fault]:
    if path == Path("-"):
        return [
            Fault(
                "this output cannot be printed, and '-' is no name for a file",
                file=str(path),
                do="Give it a name.",
            )
        ]
    try:
        mode = _mode(path)
    except OutputError as problem:
        return list(problem.faults)
    if mode is not None and stat.S_ISDIR(mode):
        return [refused(path, errno.EISDIR)]
    if mode is not None and not _takes(path, mode):
        found = "this is a pipe or a device that may wait without end; nothing was written"
        return [Fault(found, file=str(path), do="Name a file, or /dev/stdout to print it.")]
    if any(_same(path, source) for source in inputs):
        return [
            Fault(
                "this is also an input, and it would be lost",
                file=str(path),
                do="Choose another name for the output.",
            )
        ]
    if not path.parent.is_dir():
        return [refused(path, errno.ENOENT)]
    if mode is None and path.is_symlink() and not real_place(path).parent.is_dir():
        found = f"it is a link to '{real_place(path)}', and that folder does not exist"
        do = "Create the folder, or remove the link."
        return [Fault(f"{found}; nothing was written", file=str(path), do=do)]
    if not os.access(path if mode is not None else real_place(path).parent, os.W_OK):
        return [refused(path, errno.EACCES)]
    return []


def _mode(path: Path) -> int | None:
    """What stands there; None where nothing does. OutputError where that cannot be seen."""
    try:
        return path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        return None
    except (OSError, ValueError) as problem:
        number = problem.errno if isinstance(problem, OSError) else errno.EINVAL
        raise OutputError(refused(path, number, str(problem))) from None


def _takes(path: Path, mode: int) -> bool:
    """Whether what stands there takes an output at once: a file, a device of characters, or a pipe
    that this program was handed open (`/dev/stdout`, `>(…)` of a shell), never one by its name."""
    if stat.S_ISREG(mode) or stat.S_ISCHR(mode):
        return True
    return stat.S_ISFIFO(mode) and any(_is_open_as(number, path) for number in _open_numbers())


def _open_numbers() -> list[int]:
    try:
        return [int(name) for name in os.listdir("/dev/fd") if name.isdigit()]  # noqa: PTH208 names
    except OSError:
        return [1, 2]


def _is_open_as(number: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(number), path.stat())
    except OSError:
        return False


def _same(path: Path, other: Path) -> bool:
    try:
        return path.samefile(other)
    except (OSError, ValueError):
        return real_place(path) == real_place(other)
