"""A folder of our own for what has to be unpacked, gone when nobody uses it any more."""

import shutil
import tempfile
import weakref
from pathlib import Path

from tuneledger.errors import Fault, LogError

_ROOM = "Make room where temporary files go, or name another folder for them (TMPDIR)."


class PrivateFolder:
    """A folder that only this user may look into; removed with its last reference, or at exit.

    LogError where none can be made.

    Whoever keeps a file in it keeps the folder: a log holds it as long as its columns may be read.
    Names in it are ours (`1`, `2`, …), never a stranger's.
    """

    def __init__(self) -> None:
        try:
            self.path = Path(tempfile.mkdtemp(prefix="tuneledger-"))
        except OSError as problem:
            found = f"no folder for temporary files can be made ({problem.strerror or problem})"
            raise LogError(Fault(found, do=_ROOM)) from problem
        self._files = 0
        self._end = weakref.finalize(self, shutil.rmtree, self.path, ignore_errors=True)

    def new_file(self) -> Path:
        """The path of a file that is not there yet."""
        self._files += 1
        return self.path / str(self._files)


def no_room(name: str, why: str) -> LogError:
    """The refusal of a file, by its name, of which no copy can be kept while it is used."""
    return LogError(
        Fault(
            f"it cannot be kept on the disk while it is read ({why.strip()})",
            file=name,
            do=_ROOM,
        )
    )
