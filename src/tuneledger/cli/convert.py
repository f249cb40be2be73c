"""`tuneledger convert`: a log in, the same log in another format out."""

from pathlib import Path
from typing import BinaryIO

import click

from tuneledger.cli.opening import open_given
from tuneledger.cli.sizes import given, large
from tuneledger.cli.terminal import say

FILE = click.Path(path_type=Path, readable=False)
_SHOWN = 6


@click.command("convert")
@click.argument("log", type=FILE, metavar="LOG")
@click.argument("target", type=FILE, metavar="OUT")
@large
def command(log: Path, target: Path) -> int:
    """Write a log in another format.

    The ending of OUT decides: .csv, .parquet, .arrow, or .mf4 for ASAM MDF 4. Times count in
    seconds from the first sample; names and units stay, but for codes that cannot be seen and, in
    .csv, a ' before what a spreadsheet would take for a formula. A log of any size is written some
    rows at a time. MDF keeps every group on its own
    raster; the others get one table, with empty cells where a channel has no sample of its own.

    What `look` says of how the file was read is said here too: rows and cells that were left out,
    names that were numbered.

    Exit status: 0 written whole; 1 written, but something was left out, could not be carried over
    or is odd about the file, and it is said; 2 nothing was written.
    """
    from tuneledger.logs.writing.output import check_ending, formulas, write_tables
    from tuneledger.statement.output import Output, write_all
    from tuneledger.statement.places import check_places

    inputs = given([log])
    check_places([target], inputs)
    check_ending(target)

    from tuneledger.logs.model import LEFT_OUT, NOT_READ
    from tuneledger.logs.writing.model import count_of, lost, renamed, tables_of
    from tuneledger.wording import count, few, visible

    opened = open_given(log)
    tables = tables_of(opened)

    def write(file: BinaryIO) -> None:
        write_tables(tables, target.suffix.lower(), file, opened.began)

    write_all([Output(target, write)], inputs)
    say(f"{visible(str(target))}: {count(count_of(tables), 'channel')}, {opened.samples} samples\n")
    words, codes = lost(opened), renamed(opened)
    changed = formulas(tables, target.suffix.lower())
    for says, names in (
        ("Not carried over, for they hold words and no numbers", words),
        ("Written without the codes in their names that cannot be seen", codes),
        ("Written with ' before them, for a spreadsheet would take them for formulas", changed),
    ):
        if names:
            say(f"{says}: {few([visible(name) for name in names], _SHOWN)}\n")
    unread = [note for note in opened.cell_notes if NOT_READ in note or LEFT_OUT in note]
    say("".join(f"{note}\n" for note in opened.notes))
    say("".join(f"{note}{'; empty there' * (note in unread)}\n" for note in opened.cell_notes))
    return 1 if words or codes or changed or opened.notes or unread else 0
