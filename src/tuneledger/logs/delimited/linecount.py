"""How many cells every line has; only counted where a row may be too short or too long."""

from collections.abc import Iterable
from pathlib import Path

import numpy as np

from tuneledger.arrays import BoolArray, IntArray
from tuneledger.record import record

_BLOCK = 1 << 18
_QUOTE = ord('"')
_RETURN = ord("\r")


@record(eq=False)
class Counts:
    """Per line: its cells, and whether it ends with a delimiter (the last cell is then empty)."""

    cells: IntArray
    trailing: BoolArray


def count_cells_in_file(
    path: Path, delimiter: str, *, quoted: bool, end: str, offset: int
) -> Counts:
    """Count in a file from a byte on. OSError if it cannot be read."""
    with path.open("rb") as file:
        file.seek(offset)
        blocks = iter(lambda: file.read(_BLOCK), b"")
        return _count(blocks, ord(delimiter), ord(end), quoted=quoted)


def _count(blocks: Iterable[bytes], delimiter: int, end: int, *, quoted: bool) -> Counts:
    cells: list[IntArray] = []
    trailing: list[BoolArray] = []
    open_cells, inside = 0, 0
    previous = np.full(2, end, dtype=np.uint8)
    last = b""
    for block in blocks:
        letters = np.frombuffer(block, dtype=np.uint8)
        mark, line_end = letters == delimiter, letters == end
        if quoted:
            within = (np.cumsum(letters == _QUOTE) + inside) & 1
            inside = int(within[-1])
            mark &= within == 0
            line_end &= within == 0
        ends = np.flatnonzero(line_end)
        sums = np.add.reduceat(mark.view(np.uint8), np.r_[0, ends], dtype=np.int64)
        if ends.size:
            sums[0] += open_cells
            cells.append(sums[:-1])
            trailing.append(_ends_with(delimiter, letters, ends, previous))
            open_cells = int(sums[-1])
        else:
            open_cells += int(sums[0])
        previous = np.r_[previous, letters[-2:]][-2:]
        last = block
    if last and last[-1] != end:
        cells.append(np.array([open_cells], dtype=np.int64))
        trailing.append(np.array([previous[-1] == delimiter]))
    if not cells:
        return Counts(np.empty(0, dtype=np.int64), np.empty(0, dtype=np.bool_))
    return Counts(np.concatenate(cells) + 1, np.concatenate(trailing))


def _ends_with(
    delimiter: int, letters: np.ndarray, ends: IntArray, previous: np.ndarray
) -> BoolArray:
    """Whether the letter before each line end, a carriage return apart, is the delimiter."""
    padded = np.r_[previous, letters]
    before = padded[ends + 1]
    earlier = padded[ends]
    out: BoolArray = np.where(before == _RETURN, earlier, before) == delimiter
    return out
