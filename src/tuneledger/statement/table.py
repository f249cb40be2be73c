"""The sample-by-sample ledger as a table, and as a CSV, Parquet or ASAM MDF file.

Columns are the contract's: `time_s`, `scheduled_deg`, `delivered_deg`, one `entry:<correction id>`
each, `unaccounted_deg`; one row per row of delivered's group, in file order. What cannot be
computed is empty, never zero. In MDF the ledger stands beside the log's own channels, so that a
general viewer shows both.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import datetime
from pathlib import Path

import numpy as np
import polars as pl

from tuneledger.arrays import FloatArray
from tuneledger.errors import Fault, OutputError
from tuneledger.ledger.model import Ledger
from tuneledger.logs.writing.model import Column, Table, tables_of
from tuneledger.statement.model import LogAccount
from tuneledger.statement.output import Output, write_all
from tuneledger.wording import as_cell, bare

_MDF = ".mf4"
ENDINGS = (".csv", ".parquet", _MDF)
_TIME_PLACES, _DEGREE_PLACES = 6, 4
_PART_ROWS = 100_000


def ledger_table(books: Sequence[LogAccount]) -> pl.DataFrame:
    """The ledgers of some logs as one table.

    Of several logs each row begins with `log`, the log's file; a correction that posted nothing in
    one of them is zero there. A log without a ledger has no rows.
    """
    parts = list(ledger_parts(books))
    return pl.concat(parts) if parts else pl.DataFrame()


def ledger_parts(books: Sequence[LogAccount]) -> Iterator[pl.DataFrame]:
    """The same, some rows at a time."""
    kept = [(account.log.file, account.ledger) for account in books if account.ledger is not None]
    names = list(dict.fromkeys(entry.correction for _, ledger in kept for entry in ledger.entries))
    for file, ledger in kept:
        for start in range(0, max(1, ledger.times.size), _PART_ROWS):
            part = _table(ledger, names, slice(start, start + _PART_ROWS))
            if len(books) > 1:
                called = pl.repeat(as_cell(bare(file)), part.height, eager=True).alias("log")
                part.insert_column(0, called)
            yield part


def _table(ledger: Ledger, names: Sequence[str], rows: slice) -> pl.DataFrame:
    columns = {
        "time_s": _column(ledger.times[rows], _TIME_PLACES),
        "scheduled_deg": _column(ledger.scheduled[rows], _DEGREE_PLACES),
        "delivered_deg": _column(ledger.delivered[rows], _DEGREE_PLACES),
    }
    for name in names:
        columns[f"entry:{name}"] = _column(_posted(ledger, name, rows), _DEGREE_PLACES)
    columns["unaccounted_deg"] = _column(ledger.unaccounted[rows], _DEGREE_PLACES)
    return pl.DataFrame(columns)


def _posted(ledger: Ledger, name: str, rows: slice) -> FloatArray:
    """All that one correction posted: two revisions may carry one of the same id."""
    total = np.zeros(ledger.times[rows].shape)
    for entry in ledger.entries:
        if entry.correction == name:
            total = total + entry.values[rows]
    return total


def _column(values: FloatArray, places: int) -> pl.Series:
    # Adding zero takes the sign off a negative zero, which no reader wants to see.
    return pl.Series(np.round(values, places) + 0.0, nan_to_null=True)


def ledger_output(books: Sequence[LogAccount], path: Path) -> Output:
    """The ledger as an output, in a format by the file's ending.

    Raises OutputError for any other ending.
    """
    check_ending(path)
    if path.suffix.lower() == _MDF:
        began = books[0].log.began if len(books) == 1 else None  # each log counts from its own
        return _mdf_output(lambda: _beside_the_log(books), path, began)
    return _flat_output(lambda: ledger_parts(books), path)


def table_output(make: Callable[[], pl.DataFrame], path: Path) -> Output:
    """A table over `time_s` as an output, made when it is written, in a format by the ending."""
    check_ending(path)
    if path.suffix.lower() == _MDF:
        return _mdf_output(lambda: [_degrees(make(), "ledger")], path)
    return _flat_output(lambda: make().iter_slices(_PART_ROWS), path)


def _flat_output(make: Callable[[], Iterable[pl.DataFrame]], path: Path) -> Output:
    from tuneledger.logs.writing.frames import write_frames

    return Output(path, lambda file: write_frames(make(), path.suffix.lower(), file))


def _beside_the_log(books: Sequence[LogAccount]) -> list[Table]:
    """Each log's ledger, and the log's own channels after it."""
    out: list[Table] = []
    for account in books:
        if account.ledger is not None:
            out.append(_degrees(ledger_table([account]), f"ledger of {account.log.file}"))
        out.extend(tables_of(account.log))
    return out


def _degrees(table: pl.DataFrame, title: str) -> Table:
    columns = tuple(
        Column.of(name.removesuffix("_deg"), "deg", table[name].fill_null(np.nan).to_numpy())
        for name in table.columns
        if name != "time_s"
    )
    return Table(title, table["time_s"].to_numpy(), columns)


def _mdf_output(
    make: Callable[[], Sequence[Table]], path: Path, began: datetime | None = None
) -> Output:
    from tuneledger.logs.writing.mdf import write_mdf

    return Output(path, lambda file: write_mdf(make(), file, began))


def check_ending(path: Path) -> None:
    """Refuse a name for the ledger that says no format we write. Raises OutputError."""
    if path.suffix.lower() not in ENDINGS:
        raise OutputError(
            Fault(
                f"a ledger cannot be written as '{path.suffix or path.name}'",
                file=str(path),
                expected="a name that ends in .csv, .parquet or .mf4",
                do="Change the ending.",
            )
        )
    if path.suffix.lower() == _MDF:
        from tuneledger.logs.writing.mdf import check_installed

        check_installed(path)


def write_ledger(books: Sequence[LogAccount], path: str | Path) -> None:
    """Write the ledgers of some logs (`statement.logs`) to a file, whole or not."""
    write_all([ledger_output(books, Path(path))])
