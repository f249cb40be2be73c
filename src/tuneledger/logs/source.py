"""A file as it lies there, before anybody knows what it is: its first and last bytes."""

from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING

from tuneledger.bounded import NoFileError, how_to_raise, open_plain
from tuneledger.errors import Fault, LogError
from tuneledger.logs.limits import bytes_text
from tuneledger.record import record

if TYPE_CHECKING:
    from tuneledger.private import PrivateFolder

HEAD_BYTES = 512 * 1024
TAIL_BYTES = 64 * 1024
_FEW_LINES = 16  # with fewer, one of them is very long, and the head ends before the samples begin
_LONGEST_HEAD = 8 * HEAD_BYTES


@record
class Source:
    """A readable, non-empty file. `head` and `tail` overlap, or are all of it, if it is small.

    name:   how messages call the file; one out of an archive has its name there
    folder: the private folder in which `path` lies, where it was unpacked
    """

    path: Path
    size: int
    head: bytes
    tail: bytes
    name: str
    folder: "PrivateFolder | None" = field(default=None, compare=False, repr=False)

    @property
    def whole(self) -> bool:
        """Whether `head` is the entire file."""
        return len(self.head) == self.size


def open_source(path: Path, name: str = "", folder: "PrivateFolder | None" = None) -> Source:
    """Look at a file. LogError if it is a folder, is not there, is empty or may not be read.

    name: how to call it where that is not the name of `path`; folder: where it was unpacked
    """
    try:
        if path.is_dir():
            raise LogError(
                Fault(
                    "this is a folder",
                    file=str(path),
                    expected="a log or a calibration sheet",
                    do="Name the files in it.",
                )
            )
        with open_plain(path) as file:
            head = file.read(HEAD_BYTES)
            while head.count(b"\n") < _FEW_LINES and len(head) < _LONGEST_HEAD:
                more = file.read(HEAD_BYTES)
                if not more:
                    break
                head += more
            size = file.seek(0, 2)
            file.seek(max(0, size - TAIL_BYTES))
            tail = file.read(TAIL_BYTES)
    except OSError as problem:
        raise unreadable(path, problem) from problem
    if not head:
        raise LogError(
            Fault(
                "the file is empty",
                file=name or path.name,
                expected="a log with a header row and samples, or a calibration sheet",
                do="Copy it once more from where it came.",
            )
        )
    return Source(path, size, head, tail, name or path.name, folder)


def unreadable(path: Path, problem: OSError) -> LogError:
    """The operating system's refusal in words."""
    if isinstance(problem, NoFileError):
        fault = Fault(
            str(problem.strerror),
            file=str(path),
            expected="a log or a calibration sheet",
            do="Pipe it in, with - in place of its name, or save it as a file.",
        )
    elif isinstance(problem, FileNotFoundError):
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


def standard_input(most: int) -> Source:
    """What is piped in, kept in a private folder. LogError where it is empty or beyond `most`."""
    import signal
    import sys

    from tuneledger.private import PrivateFolder, no_room

    if hasattr(signal, "siginterrupt"):
        # polars has the waiting go on after an interrupt, so that nobody would hear of it.
        signal.siginterrupt(signal.SIGINT, True)
    folder = PrivateFolder()
    target = folder.new_file()
    name = "standard input"
    try:
        with target.open("xb") as file:
            while piece := sys.stdin.buffer.read(1 << 20):
                if file.tell() + len(piece) > most:
                    found = f"it has not ended after {bytes_text(most)}"
                    raise LogError(
                        Fault(found, file=name, do=f"Hand over a file. {how_to_raise()}")
                    )
                file.write(piece)
    except OSError as problem:
        raise no_room(name, problem.strerror or str(problem)) from problem
    return open_source(target, name, folder)
