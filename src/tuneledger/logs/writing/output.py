"""A log in another format, by the ending of the file's name."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

from tuneledger.errors import Fault, OutputError
from tuneledger.logs.writing.mdf import ENDINGS as MDF_ENDINGS
from tuneledger.logs.writing.mdf import check_installed, write_mdf
from tuneledger.logs.writing.model import Table
from tuneledger.wording import as_cell

FLAT_ENDINGS = (".csv", ".parquet", ".arrow")
ENDINGS = (*FLAT_ENDINGS, *MDF_ENDINGS)


def check_ending(path: Path) -> None:
    """Raises OutputError where no format has that ending, or its extra is missing."""
    ending = path.suffix.lower()
    if ending in MDF_ENDINGS:
        check_installed(path)
    elif ending not in FLAT_ENDINGS:
        raise OutputError(
            Fault(
                f"a log cannot be written as '{path.suffix or path.name}'",
                file=str(path),
                expected=f"a name that ends in {', '.join(ENDINGS[:-1])} or {ENDINGS[-1]}",
                do="Change the ending.",
            )
        )


def formulas(tables: Sequence[Table], ending: str) -> tuple[str, ...]:
    """The headers that get a ' before them, for a spreadsheet would take them for formulas."""
    headers = [column.header for table in tables for column in table.columns]
    return tuple(h for h in headers if ending == ".csv" and as_cell(h) != h)


def write_tables(
    tables: Sequence[Table], ending: str, file: BinaryIO, began: datetime | None = None
) -> None:
    """Write the tables into an open file, in the format of that ending, some rows at a time.

    began: the moment from which their times count, for formats that have a place for it
    """
    if ending in MDF_ENDINGS:
        write_mdf(tables, file, began)
        return
    from tuneledger.logs.writing.flat import flat_parts
    from tuneledger.logs.writing.frames import write_frames

    spelled = as_cell if ending == ".csv" else str
    write_frames(flat_parts(tables, spelled), ending, file)
