"""A file as it lies there, before anybody knows what it is: its first and last bytes."""

from dataclasses import dataclass
from pathlib import Path

from tuneledger.errors import Fault, LogError

HEAD_BYTES = 512 * 1024
TAIL_BYTES = 64 * 1024


@dataclass(frozen=True, slots=True)
class Source:
    """A readable, non-empty file. `head` and `tail` overlap, or are all of it, if it is small."""

    path: Path
    size: int
    head: bytes
    tail: bytes

    @property
    def name(self) -> str:
        """How messages call the file."""
        return self.path.name

    @property
    def whole(self) -> bool:
        """Whether `head` is the entire file."""
        return len(self.head) == self.size


def open_source(path: Path) -> Source:
    """Look at a file. LogError if it is a folder, is not there, is empty or may not be read."""
    try:
        if path.is_dir():
            raise LogError(
                Fault(
                    "this is a folder",
                    file=str(path),
                    expected="a log file",
                    do="Name the log file in it.",
                )
            )
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
            size = file.seek(0, 2)
            file.seek(max(0, size - TAIL_BYTES))
            tail = file.read(TAIL_BYTES)
    except OSError as problem:
        raise unreadable(path, problem) from problem
    if not head:
        raise LogError(
            Fault(
                "the file is empty",
                file=path.name,
                expected="a log with a header row and samples",
                do="Copy it from the logger again.",
            )
        )
    return Source(path, size, head, tail)


def unreadable(path: Path, problem: OSError) -> LogError:
    """The operating system's refusal in words."""
    if isinstance(problem, FileNotFoundError):
        fault = Fault(
            "there is no such file",
            file=str(path),
            do="Check the name; it may have been moved or deleted meanwhile.",
        )
    elif isinstance(problem, PermissionError):
        fault = Fault(
            "the file may not be read", file=str(path), do="Give yourself the right to read it."
        )
    else:
        fault = Fault(
            f"the file cannot be read ({problem.strerror or problem})",
            file=str(path),
            do="Check that its disk is still connected.",
        )
    return LogError(fault)
