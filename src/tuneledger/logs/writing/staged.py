"""Columns of numbers put down one after the other, and taken up again some rows at a time.

A log is read by columns and most formats are written by rows: this is where it turns round. What
does not fit into a few ten megabytes lies meanwhile in a file without a name, which goes with it.
"""

import tempfile
from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.errors import Fault, OutputError
from tuneledger.private import MAKE_ROOM

IN_MEMORY = 64 << 20  # bytes
CELLS_AT_ONCE = 1_000_000
_FEWEST_ROWS = 100
_SIZE = np.dtype(np.float64).itemsize


class Staged:
    """Columns of `rows` values each. OutputError where there is no room for them."""

    def __init__(self, rows: int) -> None:
        self._rows = rows
        self._columns = 0
        self._file = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 as long as this

    def put(self, values: FloatArray) -> None:
        """Another column."""
        try:
            self._file.seek(0, 2)
            self._file.write(np.ascontiguousarray(values, dtype=np.float64).data)
        except OSError as problem:
            raise no_room_for_output(problem) from problem
        self._columns += 1

    def parts(self) -> Iterator[list[FloatArray]]:
        """All columns, some rows of each at a time; one part without rows where there are none."""
        together = max(_FEWEST_ROWS, CELLS_AT_ONCE // max(1, self._columns))
        for start in range(0, max(1, self._rows), together):
            length = min(together, self._rows - start)
            yield [self._some(column, start, length) for column in range(self._columns)]

    def _some(self, column: int, start: int, length: int) -> FloatArray:
        self._file.seek((column * self._rows + start) * _SIZE)
        return np.frombuffer(self._file.read(length * _SIZE), dtype=np.float64)


def no_room_for_output(problem: OSError) -> OutputError:
    """The refusal where the disk for temporary files, not that of the output, is full."""
    return OutputError(
        Fault(
            "what is to be written cannot be kept on the disk for temporary files meanwhile "
            f"({problem.strerror or problem}); nothing was written",
            do=MAKE_ROOM,
        )
    )
