"""`tuneledger convert`: a log in, the same log in another format out."""

from pathlib import Path
from typing import BinaryIO

import click

from tuneledger.cli.sizes import given, limits
from tuneledger.cli.terminal import say

FILE = click.Path(path_type=Path)


@click.command("convert")
@click.argument("log", type=FILE, metavar="LOG")
@click.argument("target", type=FILE, metavar="OUT")
@click.option("--large", is_flag=True, help="Raise the limits on the size of files tenfold.")
def command(log: Path, target: Path, large: bool) -> int:
    """Write a log in another format.

    The ending of OUT decides: .csv, .parquet, .arrow, or .mf4 for ASAM MDF 4. Times count in
    seconds from the first sample; names and units stay. MDF keeps every group on its own raster;
    the others get one table, with empty cells where a channel has no sample of its own.

    Exit status: 0 written whole; 1 written, but something could not be carried over, and it is
    said; 2 nothing was written.
    """
    from tuneledger.logs.writing.output import check_ending, write_tables
    from tuneledger.statement.output import Output, check_places, write_all

    inputs = given([log])
    check_places([target], inputs)
    check_ending(target)

    from tuneledger.logs.registry import open_log
    from tuneledger.logs.writing.model import count_of, lost, tables_of
    from tuneledger.wording import count, listing, visible

    opened = open_log(log, limits=limits(large=large))
    tables = tables_of(opened)

    def write(file: BinaryIO) -> None:
        write_tables(tables, target.suffix.lower(), file)

    write_all([Output(target, write)], inputs)
    say(f"{visible(str(target))}: {count(count_of(tables), 'channel')}, {opened.samples} samples\n")
    words = lost(opened)
    if words:
        names = listing([visible(name) for name in words[:6]])
        say(f"Not carried over, for they hold words and no numbers: {names}\n")
    return 1 if words else 0
