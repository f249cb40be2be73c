"""`tuneledger rehearse`: a log, its sheet and a change in, what would have moved out."""

import sys
from pathlib import Path

import click

from tuneledger.cli.sizes import large
from tuneledger.cli.terminal import NO_ACCOUNT, PRINTED, has_colour, not_written, page_size, say

FILE = click.Path(path_type=Path, readable=False)


@click.command("rehearse")
@click.argument("log", type=FILE, metavar="LOG")
@click.argument("sheet", type=FILE, metavar="SHEET")
@click.option("--change", "changes", type=FILE, metavar="CHANGES", help="The edits, as TOML.")
@click.option("--to", type=FILE, metavar="SHEET", help="Another sheet, in place of edits.")
@click.option("--roles", type=FILE, metavar="FILE", help="Say which channel is which signal.")
@click.option(
    "--ledger",
    type=FILE,
    metavar="FILE",
    help="Write the rehearsed ledger sample by sample; the name ends in .csv or .parquet.",
)
@click.option(
    "--json",
    "json_file",
    type=FILE,
    metavar="FILE",
    help="Write the rehearsal as JSON; - prints it.",
)
@click.option("--page", type=FILE, metavar="FILE", help="Write it as one page with figures.")
@click.option("--no-memory", is_flag=True, help="Do not use roles remembered from earlier logs.")
@large
def command(
    log: Path,
    sheet: Path,
    changes: Path | None,
    to: Path | None,
    roles: Path | None,
    ledger: Path | None,
    json_file: Path | None,
    page: Path | None,
    no_memory: bool,
) -> int:
    """Replay a log under a changed sheet: what would have moved, where, and how sure that is.

    LOG is a run, SHEET the sheet that the ECU is said to run. The change is a list of places with
    new values (CHANGES), or another sheet. Rehearsed is delivered plus what the two sheets differ
    by; what nothing accounts for stays as it was.

    Exit status: 0 nothing moves; 1 something does, or advance is raised where this drive never was,
    or a protection is eased; 2 a file could not be used; 3 nothing of the change could be computed.
    """
    from tuneledger.statement.output import text_output, write_all
    from tuneledger.statement.places import check_places

    inputs = [path for path in (log, sheet, changes, to, roles) if path is not None]
    target = None if json_file in (None, PRINTED) else json_file
    check_places([path for path in (target, ledger, page) if path is not None], inputs)
    if ledger is not None:
        from tuneledger.statement.table import check_ending

        check_ending(ledger)

    from tuneledger.change.rehearsal_out import as_json, rehearsed_table
    from tuneledger.change.rehearse import rehearse
    from tuneledger.statement.json import json_text

    rehearsal = rehearse(log, sheet, changes=changes, to=to, roles_file=roles, memory=not no_memory)
    outputs = []
    if target is not None:
        outputs.append(text_output(target, json_text(as_json(rehearsal))))
    if ledger is not None and rehearsal.ledger is None:
        not_written("ledger", ledger, NO_ACCOUNT)
    elif ledger is not None:
        from tuneledger.statement.table import table_output

        outputs.append(table_output(lambda: rehearsed_table(rehearsal), ledger))
    if page is not None:
        from tuneledger.pages.rehearsal import rehearsal_page

        outputs.append(text_output(page, rehearsal_page(rehearsal)))
    write_all(outputs, inputs)
    if json_file == PRINTED:
        say(json_text(as_json(rehearsal)))
        return rehearsal.exit_status
    from tuneledger.change.rehearsal_text import as_text

    width, _ = page_size(sys.stdout)
    say(as_text(rehearsal, width=width, colour=has_colour(sys.stdout)))
    return rehearsal.exit_status
