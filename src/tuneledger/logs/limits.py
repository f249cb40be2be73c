"""How much of a stranger's file is taken in before somebody is asked."""

from dataclasses import replace

from tuneledger.bounded import are_raised
from tuneledger.record import record

MEGABYTE = 1 << 20
GIGABYTE = 1 << 30


_TENFOLD = 10  # what grows no more than that is as large as it looks


@record
class Limits:
    """Bounds on a file that comes from a stranger.

    members:   files in an archive; sheets of a workbook
    unpacked:  bytes that an archive, or a compressed log, may become
    expansion: how many times its own size it may become, once past a megabyte or so
    small:     bytes that a compressed log may become, however small it is
    workbook:  bytes that the files in a workbook may become (a cell takes some fifteen of them),
               and its sheets as text
    cells:     of one sheet of a workbook, empty ones between others counted
    columns:   channels of a log
    seconds:   how long a reader that runs apart (MDF) may take
    memory:    bytes that such a reader may hold
    """

    members: int = 200
    unpacked: int = 4 * GIGABYTE
    expansion: int = 400
    small: int = 512 * MEGABYTE
    workbook: int = 400 * MEGABYTE
    cells: int = 40_000_000
    columns: int = 20_000
    seconds: float = 120.0
    memory: int = 6 * GIGABYTE

    def of_table(self, size: int) -> int:
        """Bytes that the columns of a typed log (Parquet, Arrow) of that size may become."""
        swollen = min(self.unpacked, size * self.expansion)
        return max(self.small, swollen, size * _TENFOLD)

    def raised(self) -> "Limits":
        """Ten times as much of everything, for a file that its owner trusts (`--large`)."""
        return replace(
            self,
            members=10 * self.members,
            unpacked=10 * self.unpacked,
            expansion=10 * self.expansion,
            small=10 * self.small,
            workbook=10 * self.workbook,
            cells=10 * self.cells,
            columns=10 * self.columns,
            seconds=10 * self.seconds,
            memory=10 * self.memory,
        )


USUAL = Limits()


def current() -> Limits:
    """The limits that hold now: the usual ones, or all of them raised (`bounded`)."""
    return USUAL.raised() if are_raised() else USUAL


def bytes_text(number: int) -> str:
    """A size for people: "512 MB", "4 GB"."""
    for size, unit in ((GIGABYTE, "GB"), (MEGABYTE, "MB"), (1 << 10, "kB")):
        if number >= size:
            return f"{number / size:.3g} {unit}"
    return f"{number} bytes"
