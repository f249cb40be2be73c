"""Apache Arrow IPC, as a file or as a stream: a log as one table, each column with its type."""

from functools import lru_cache, partial
from typing import TYPE_CHECKING

from tuneledger.errors import Fault
from tuneledger.logs.limits import Limits, current
from tuneledger.logs.source import Source

if TYPE_CHECKING:
    from tuneledger.logs.model import Log
    from tuneledger.logs.typed.lazily import LazyTable

_FILE = b"ARROW1"
_STREAM = b"\xff\xff\xff\xff"  # then the length of the schema's message
_LONGEST_SCHEMA = 1 << 24


def detect(source: Source) -> bool:
    """Whether a file is Arrow IPC, whole or damaged, by its first bytes; never raises."""
    return source.head.startswith(_FILE) or _is_stream(source.head)


def why_not(source: Source) -> Fault | None:
    """Nothing: what begins like Arrow IPC is read as Arrow IPC."""
    return None


def names(source: Source) -> tuple[str, ...]:
    """What the channels are called. LogError where the file is damaged.

    A stream is read as a whole for them, and not where it would become too large.
    """
    from tuneledger.logs.typed.begin import check_size, names_of

    if _is_stream(source.head):
        check_size(source, _becomes(source), current())
    return names_of(_table(source))


def read(source: Source, limits: Limits) -> "Log":
    """Read a log. LogError where it is damaged or cannot be used, with what to do."""
    from tuneledger.logs.typed.begin import begin_and_read, check_size

    check_size(source, _becomes(source), limits)
    return begin_and_read(source, _table(source), "Arrow IPC", limits)


@lru_cache(maxsize=1)
def _becomes(source: Source) -> int:
    from tuneledger.logs.typed.batches import size_unpacked
    from tuneledger.logs.typed.lazily import becoming

    return becoming(source, partial(size_unpacked, stream=_is_stream(source.head)))


@lru_cache(maxsize=1)  # its names are asked for while it is being read
def _table(source: Source) -> "LazyTable":
    import polars as pl

    from tuneledger.logs.typed.lazily import LazyTable, guarded

    _becomes(source)  # only one whose headers agree may be opened
    with guarded(source):
        if _is_stream(source.head):
            scan = pl.read_ipc_stream(source.path).lazy()
        else:
            scan = pl.scan_ipc(source.path, glob=False)
    return LazyTable(source, scan)


def _is_stream(head: bytes) -> bool:
    return head.startswith(_STREAM) and 0 < int.from_bytes(head[4:8], "little") < _LONGEST_SCHEMA
