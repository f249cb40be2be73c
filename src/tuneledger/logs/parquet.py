"""Apache Parquet: a log as one table, each column with its type."""

from typing import TYPE_CHECKING

from tuneledger.errors import Fault
from tuneledger.logs.limits import Limits
from tuneledger.logs.source import Source

if TYPE_CHECKING:
    from tuneledger.logs.model import Log

_MAGIC = b"PAR1"


def detect(source: Source) -> bool:
    """Whether a file is Parquet, whole or damaged, by its first bytes; never raises."""
    return source.head.startswith(_MAGIC)


def why_not(source: Source) -> Fault | None:
    """Nothing: what begins like Parquet is read as Parquet."""
    return None


def read(source: Source, limits: Limits) -> "Log":
    """Read a log. LogError where it is damaged or cannot be used, with what to do."""
    import polars as pl

    from tuneledger.logs.typed.lazily import LazyTable, damaged, guarded
    from tuneledger.logs.typed.pages import disagreement
    from tuneledger.logs.typed.reader import read_typed

    with guarded(source):
        wrong = disagreement(source.path)
        if wrong:
            raise damaged(source, wrong)
        scan = pl.scan_parquet(source.path, glob=False, hive_partitioning=False)
    table = LazyTable(source, scan)
    return read_typed(source, table, table.headers, "Parquet", limits)
