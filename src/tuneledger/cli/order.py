"""`tuneledger order`: log, sheets and a change in, one page for whoever holds the car out."""

import sys
from pathlib import Path

import click

from tuneledger.cli.sizes import large
from tuneledger.cli.terminal import PRINTED, has_colour, not_written, page_size, say

FILE = click.Path(path_type=Path, readable=False)


@click.command("order")
@click.argument("files", nargs=-1, required=True, type=FILE, metavar="FILE...")
@click.option("--change", "changes", type=FILE, metavar="CHANGES", help="The edits, as TOML.")
@click.option("--to", type=FILE, metavar="SHEET", help="Another sheet, in place of edits.")
@click.option("--revision", metavar="NAME", help="The new revision's name.")
@click.option("--roles", type=FILE, metavar="FILE", help="Say which channel is which signal.")
@click.option("--sheet", type=FILE, metavar="FILE", help="Write the edited sheet, comments kept.")
@click.option(
    "--page", type=FILE, metavar="FILE", help="Write the order as a page for one sheet of paper."
)
@click.option(
    "--json", "json_file", type=FILE, metavar="FILE", help="Write the order as JSON; - prints it."
)
@click.option("--no-memory", is_flag=True, help="Do not use roles remembered from earlier logs.")
@large
def command(
    files: tuple[Path, ...],
    changes: Path | None,
    to: Path | None,
    revision: str | None,
    roles: Path | None,
    sheet: Path | None,
    page: Path | None,
    json_file: Path | None,
    no_memory: bool,
) -> int:
    """Write the change order: one page for whoever holds the car.

    FILE... are logs of the car and its sheets, told apart by content. The first sheet is the one to
    edit; the one like which the log behaves is taken for what is in the car. The order holds each
    edit before and after, the steps, everything else that loading the file changes, what to log and
    how to drive. Where a sign, a role or the running revision is in doubt there is none.

    Exit status: 0 nothing to change; 1 an order; 2 a file could not be used; 3 no order, the answer
    says why.
    """
    from tuneledger.statement.output import text_output, write_all
    from tuneledger.statement.places import check_places

    inputs = [path for path in (*files, changes, to, roles) if path is not None]
    target = None if json_file in (None, PRINTED) else json_file
    check_places([path for path in (target, page, sheet) if path is not None], inputs)

    from tuneledger.change.order import order
    from tuneledger.change.order_out import as_json, as_text
    from tuneledger.statement.json import json_text

    made = order(
        files, changes=changes, to=to, revision=revision, roles_file=roles, memory=not no_memory
    )
    outputs = []
    if target is not None:
        outputs.append(text_output(target, json_text(as_json(made))))
    if page is not None:
        from tuneledger.pages.order import order_page

        outputs.append(text_output(page, order_page(made)))
    if sheet is not None and made.withheld:
        not_written("sheet", sheet, "the order is withheld.")
    elif sheet is not None:
        from tuneledger.change.new_sheet import new_sheet

        outputs.append(text_output(sheet, new_sheet(files, made, changes, revision)))
    write_all(outputs, inputs)
    if json_file == PRINTED:
        say(json_text(as_json(made)))
        return made.exit_status
    width, _ = page_size(sys.stdout)
    say(as_text(made, width=width, colour=has_colour(sys.stdout)))
    return made.exit_status
