"""A folder of our own for what has to be unpacked, gone when nobody uses it any more."""

import shutil
import tempfile
import weakref
from pathlib import Path

from tuneledger.errors import Fault, LogError
from tuneledger.logs.source import Source


class PrivateFolder:
    """A folder that only this user may look into; removed with its last reference, or at exit.

    Whoever keeps a file in it keeps the folder: a log holds it as long as its columns may be read.
    Names in it are ours (`1`, `2`, …), never a stranger's.
    """

    def __init__(self) -> None:
        self.path = Path(tempfile.mkdtemp(prefix="tuneledger-"))
        self._files = 0
        self._end = weakref.finalize(self, shutil.rmtree, self.path, ignore_errors=True)

    def new_file(self) -> Path:
        """The path of a file that is not there yet."""
        self._files += 1
        return self.path / str(self._files)


def no_room(source: Source, why: str) -> LogError:
    """The refusal of a file of which no copy can be kept while it is used."""
    return LogError(
        Fault(
            f"it cannot be kept on the disk while it is read ({why.strip()})",
            file=source.name,
            do=f"Make room in {tempfile.gettempdir()}, or name another folder for temporary files "
            "(TMPDIR).",
        )
    )
