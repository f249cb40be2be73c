"""The sample-by-sample ledger as a table, and as a CSV, Parquet or ASAM MDF file.

Columns are the contract's: `time_s`, `scheduled_deg`, `delivered_deg`, one `entry:<correction id>`
each, `unaccounted_deg`; one row per row of delivered's group, in file order. What cannot be
computed is empty, never zero. In MDF the ledger stands beside the log's own channels, so that a
general viewer shows both.
"""

import io
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import BinaryIO

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
    kept = [(account.log.file, account.ledger) for account in books if account.ledger is not None]
    names = list(dict.fromkeys(entry.correction for _, ledger in kept for entry in ledger.entries))
    tables = [_table(ledger, names) for _, ledger in kept]
    if len(books) > 1:
        tables = [
            table.insert_column(
                0, pl.repeat(as_cell(bare(file)), table.height, eager=True).alias("log")
            )
            for (file, _), table in zip(kept, tables, strict=True)
        ]
    return pl.concat(tables) if tables else pl.DataFrame()


def _table(ledger: Ledger, names: Sequence[str]) -> pl.DataFrame:
    columns = {
        "time_s": _column(ledger.times, _TIME_PLACES),
        "scheduled_deg": _column(ledger.scheduled, _DEGREE_PLACES),
        "delivered_deg": _column(ledger.delivered, _DEGREE_PLACES),
    }
    for name in names:
        columns[f"entry:{name}"] = _column(_posted(ledger, name), _DEGREE_PLACES)
    columns["unaccounted_deg"] = _column(ledger.unaccounted, _DEGREE_PLACES)
    return pl.DataFrame(columns)


def _posted(ledger: Ledger, name: str) -> FloatArray:
    """All that one correction posted: two revisions may carry one of the same id."""
    total = np.zeros(ledger.times.shape)
    for entry in ledger.entries:
        if entry.correction == name:
            total = total + entry.values
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
        return _mdf_output(lambda: _beside_the_log(books), path)
    return table_output(lambda: ledger_table(books), path)


def table_output(make: Callable[[], pl.DataFrame], path: Path) -> Output:
    """A table over `time_s` as an output, made when it is written, in a format by the ending."""
    check_ending(path)
    if path.suffix.lower() == _MDF:
        return _mdf_output(lambda: [_degrees(make(), "ledger")], path)
    parquet = path.suffix.lower() == ".parquet"

    def write(file: BinaryIO) -> None:
        for part in _parts(make(), parquet):
            file.write(part)

    return Output(path, write)


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
        Column(name.removesuffix("_deg"), "deg", table[name].fill_null(np.nan).to_numpy())
        for name in table.columns
        if name != "time_s"
    )
    return Table(title, table["time_s"].to_numpy(), columns)


def _mdf_output(make: Callable[[], Sequence[Table]], path: Path) -> Output:
    from tuneledger.logs.writing.mdf import write_mdf

    return Output(path, lambda file: write_mdf(make(), file))


def _parts(table: pl.DataFrame, parquet: bool) -> Iterator[memoryview]:
    """The file in pieces. They go through memory, since Polars hides why a disk refused it."""
    if parquet:
        buffer = io.BytesIO()
        table.write_parquet(buffer)
        yield buffer.getbuffer()
        return
    for start in range(0, max(table.height, 1), _PART_ROWS):
        buffer = io.BytesIO()
        table.slice(start, _PART_ROWS).write_csv(buffer, include_header=start == 0)
        yield buffer.getbuffer()


def check_ending(path: Path) -> None:
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
