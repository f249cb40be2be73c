"""A folder of our own for what has to be unpacked, gone when nobody uses it any more."""

import re
import shutil
import tempfile
import weakref
from functools import cache
from pathlib import Path

from tuneledger.errors import Fault, LogError
from tuneledger.owned import clear_left_behind, hold, let_go

MAKE_ROOM = "Make room where temporary files go, or name another folder for them (TMPDIR)."
_OURS = re.compile(r"tuneledger-(files|desk|roles)-[a-z0-9_]{8}")  # as `mkdtemp` fills it
_TRIES = 100


class PrivateFolder:
    """A folder that only this user may look into; removed with its last reference, or at exit.

    LogError where none can be made.

    Whoever keeps a file in it keeps the folder: a log holds it as long as its columns may be read.
    Names in it are ours (`1`, `2`, …), never a stranger's. Where its process is killed it stays
    behind, and the next process that makes one clears it.

    what: what is in it, for whoever finds it there: "files", "desk" or "roles"
    """

    def __init__(self, what: str = "files") -> None:
        try:
            _clear_once(tempfile.gettempdir())
            self.path, handle = _made(f"tuneledger-{what}-")
        except OSError as problem:
            found = f"no folder for temporary files can be made ({problem.strerror or problem})"
            raise LogError(Fault(found, do=MAKE_ROOM)) from problem
        self._files = 0
        self._end = weakref.finalize(self, _remove, self.path, handle)

    def new_file(self) -> Path:
        """The path of a file that is not there yet."""
        self._files += 1
        return self.path / str(self._files)

    def remove(self) -> None:
        """Remove it now, with all that is in it."""
        self._end()


@cache
def _clear_once(folder: str) -> None:
    clear_left_behind(Path(folder), _OURS)


def _made(prefix: str) -> tuple[Path, int]:
    """A new folder, and the lock on it."""
    for _ in range(_TRIES):
        path = Path(tempfile.mkdtemp(prefix=prefix))
        handle = hold(path)
        if handle is not None:  # else somebody cleared it before it was held
            return path, handle
    raise OSError("others remove it again and again")


def _remove(path: Path, handle: int) -> None:
    shutil.rmtree(path, ignore_errors=True)
    let_go(handle)


def no_room(name: str, why: str) -> LogError:
    """The refusal of a file, by its name, of which no copy can be kept while it is used."""
    return LogError(
        Fault(
            f"it cannot be kept on the disk while it is read ({why.strip()})",
            file=name,
            do=MAKE_ROOM,
        )
    )
