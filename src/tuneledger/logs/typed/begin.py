"""A table of typed columns, begun to be read before what makes a log of it is imported."""

from typing import TYPE_CHECKING

from tuneledger.bounded import how_to_raise
from tuneledger.errors import Fault, LogError
from tuneledger.logs.limits import Limits, bytes_text
from tuneledger.logs.source import Source
from tuneledger.logs.typed.headers import split_headers
from tuneledger.logs.typed.lazily import LazyTable
from tuneledger.logs.typed.thin import thinned
from tuneledger.wording import count

if TYPE_CHECKING:
    from tuneledger.logs.model import Log


def begin_and_read(source: Source, table: LazyTable, form: str, limits: Limits) -> "Log":
    """A log out of one table. LogError where it is too wide, or as for `read_typed`.

    form: what the format is called
    """
    if len(table.headers) > limits.columns:
        fault = Fault(
            f"it has {count(len(table.headers), 'column')}",
            file=source.name,
            expected=f"at most {limits.columns}",
            do=how_to_raise(),
        )
        raise LogError(fault)
    few = thinned(table)
    # Only now: it needs numpy, which is imported while the file is being read.
    from tuneledger.logs.typed.reader import read_typed

    return read_typed(source, table, few, form)


def check_size(source: Source, becomes: int, limits: Limits) -> None:
    """LogError where the columns of a table would become more bytes than its size allows."""
    most = limits.of_table(source.size)
    if becomes > most:
        fault = Fault(
            f"its {bytes_text(source.size)} would become {bytes_text(becomes)} of numbers",
            file=source.name,
            expected=f"at most {bytes_text(most)}",
            do=how_to_raise(),
        )
        raise LogError(fault)


def names_of(table: LazyTable) -> tuple[str, ...]:
    """What the channels of a table are called."""
    return tuple(name for name, _, _ in split_headers(table.headers))
