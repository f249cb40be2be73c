"""Tables of the Arrow family, of which polars reads one column at a time."""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cached_property
from itertools import takewhile
from pathlib import Path

import polars as pl
from polars.exceptions import PanicException, PolarsError

from tuneledger.errors import Fault, LogError
from tuneledger.logs.source import Source
from tuneledger.wording import visible

_INSIDE = re.compile(r"[{}()\[\]`]|::|^Error$|\w_")  # of a library's own names


class LazyTable:
    """A `Table` over a polars scan. LogError, at any time, where the file is damaged."""

    def __init__(self, source: Source, scan: pl.LazyFrame) -> None:
        self._source = source
        self._scan = scan
        with guarded(source):
            self._schema = scan.collect_schema()
        self.headers: tuple[str, ...] = tuple(self._schema.names())

    @cached_property
    def types(self) -> tuple[pl.DataType, ...]:
        return tuple(self._schema.dtypes())

    def read(self, columns: list[int], rows: int | None = None) -> list[pl.Series]:
        """Columns, all of each or its first rows."""
        scan = self._scan.select([self.headers[i] for i in columns])
        with guarded(self._source):
            return (scan if rows is None else scan.head(rows)).collect().get_columns()

    def height(self) -> int:
        """How many rows there are."""
        with guarded(self._source):
            return int(self._scan.select(pl.len()).collect().item())


@contextmanager
def guarded(source: Source) -> Iterator[None]:
    """Turn what polars says, or how it breaks, into a fault of the file."""
    try:
        yield
    except (PolarsError, PanicException, OSError) as problem:
        lines = str(problem).splitlines() or [type(problem).__name__]
        raise damaged(source, plain_words(lines[0])) from problem


def becoming(source: Source, size_of: Callable[[Path], int]) -> int:
    """How many bytes the columns of a file become. LogError where its headers do not agree."""
    with guarded(source):
        try:
            return size_of(source.path)
        except ValueError as problem:
            raise damaged(source, str(problem)) from None


def plain_words(said: str) -> str:
    """What a library says up to where the names of its inside begin; often nothing.

    `out-of-spec: InvalidBuffer { length: 80, …` is `out-of-spec`; that there is an error alone
    says nothing, the less as it may name another format.
    """
    plain = takewhile(lambda part: not _INSIDE.search(part), re.split(r"(: |, )", said))
    words = "".join(plain).rstrip(":, ")
    return "" if words.lower().endswith("error") else words


def damaged(source: Source, why: str) -> LogError:
    """The refusal of a file that cannot be read to its end; why may be empty."""
    reason = f" ({visible(why)[:120]})" if why else ""
    return LogError(
        Fault(
            f"it is damaged, or cut short{reason}",
            file=source.name,
            do="Copy it from the logger again, or write it anew.",
        )
    )
