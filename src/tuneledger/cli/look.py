"""`tuneledger look`: a log in, what was found in it out."""

import sys
from pathlib import Path

import click

from tuneledger.cli.opening import open_given
from tuneledger.cli.sizes import given, large
from tuneledger.cli.terminal import PRINTED, has_colour, page_size, say

FILE = click.Path(path_type=Path, readable=False)


@click.command("look")
@click.argument("log", type=FILE, metavar="LOG")
@click.option("--roles", type=FILE, metavar="FILE", help="Say which channel is which signal.")
@click.option(
    "--json", "json_file", type=FILE, metavar="FILE", help="Write the answer as JSON; - prints it."
)
@click.option("--no-memory", is_flag=True, help="Do not use roles remembered from earlier logs.")
@click.option("--forget", is_flag=True, help="Forget what was told of logs with this header.")
@large
def command(
    log: Path,
    roles: Path | None,
    json_file: Path | None,
    no_memory: bool,
    forget: bool,
) -> int:
    """Show what is in a log, and which channel is which signal.

    Says how the file was read, which signal each channel is taken for, how sure that is and why,
    and what is odd: gaps, stuck channels, switches that an export has interpolated.

    Exit status: 0 nothing odd; 1 something to say; 2 the log cannot be used.
    """
    from tuneledger.statement.output import text_output, write_all
    from tuneledger.statement.places import check_places

    inputs = [*given([log]), *([roles] if roles else [])]
    target = None if json_file in (None, PRINTED) else json_file
    check_places([target] if target else [], inputs)

    from tuneledger.look import look
    from tuneledger.roles import forget as forget_told
    from tuneledger.roles import identify, recall
    from tuneledger.roles.files import read_roles_file

    opened = open_given(log)
    if forget:
        gone = "Forgotten: what was told" if forget_told(opened) else "Nothing was remembered"
        say(f"{gone} of logs with this header.\n", sys.stderr)
    found = identify(
        opened,
        roles_file=read_roles_file(roles) if roles else None,
        remembered=None if no_memory else recall(opened),
    )
    looked = look(opened, found)
    if json_file is not None:
        from tuneledger.look.json import as_json
        from tuneledger.statement.json import json_text

        text = json_text(as_json(looked))
        if target is None:
            say(text)
            return looked.exit_status
        write_all([text_output(target, text)], inputs)
    from tuneledger.look.text import as_text

    width, _ = page_size(sys.stdout)
    say(as_text(looked, width=width, colour=has_colour(sys.stdout)))
    return looked.exit_status
