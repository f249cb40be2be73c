"""Apache Parquet: a log as one table, each column with its type."""

from functools import lru_cache
from typing import TYPE_CHECKING

from tuneledger.errors import Fault
from tuneledger.logs.limits import Limits
from tuneledger.logs.source import Source

if TYPE_CHECKING:
    from tuneledger.logs.model import Log
    from tuneledger.logs.typed.lazily import LazyTable

_MAGIC = b"PAR1"


def detect(source: Source) -> bool:
    """Whether a file is Parquet, whole or damaged, by its first bytes; never raises."""
    return source.head.startswith(_MAGIC)


def why_not(source: Source) -> Fault | None:
    """Nothing: what begins like Parquet is read as Parquet."""
    return None


def names(source: Source) -> tuple[str, ...]:
    """What the channels are called, from the file's end alone. LogError where it is damaged."""
    from tuneledger.logs.typed.begin import names_of

    return names_of(_table(source))


def read(source: Source, limits: Limits) -> "Log":
    """Read a log. LogError where it is damaged or cannot be used, with what to do."""
    from tuneledger.logs.typed.begin import begin_and_read, check_size

    becomes = _becomes(source)
    check_size(source, becomes, limits)
    deltas = _deltas(source)
    if deltas is not None:
        from tuneledger.logs.typed.apart import text_bytes

        check_size(source, becomes + text_bytes(source, deltas, limits), limits)
    return begin_and_read(source, _table(source), "Parquet", limits)


@lru_cache(maxsize=1)
def _becomes(source: Source) -> int:
    from tuneledger.logs.typed.lazily import becoming
    from tuneledger.logs.typed.pages import size_unpacked

    return becoming(source, size_unpacked)


def _deltas(source: Source) -> tuple[int, ...] | None:
    from tuneledger.logs.typed.pages import delta_coded

    return delta_coded(source.path)


@lru_cache(maxsize=1)  # its names are asked for while it is being read
def _table(source: Source) -> "LazyTable":
    import polars as pl

    from tuneledger.logs.typed.lazily import LazyTable, guarded

    _becomes(source)  # only one whose headers agree may be opened
    with guarded(source):
        scan = pl.scan_parquet(source.path, glob=False, hive_partitioning=False)
    return LazyTable(source, scan)
