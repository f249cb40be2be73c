"""docs/cli.md out of every command's own help: `python -m tuneledger.cli.docs docs/cli.md`."""

import sys
from collections.abc import Iterator
from pathlib import Path

import click

from tuneledger.cli.group import commands

HEAD = """\
# The command line

This page is made from the commands' own help; do not edit it. Make it anew with
`python -m tuneledger.cli.docs docs/cli.md`.

Every command ends with one of these exit statuses:

| status | meaning |
|---|---|
| 0 | nothing to say |
| 1 | something to say |
| 2 | a file or the call could not be used; the message says why, and nothing is written |
| 3 | cannot tell; the answer names what is missing |
| 70 | a fault of the program itself; `TUNELEDGER_DEBUG=1` shows the whole trace |
| 130 | interrupted |

Output is plain text where it is piped or where `NO_COLOR` is set.
"""


def page() -> str:
    """The whole page."""
    parts = [HEAD]
    for path, command in walk():
        title = " ".join(path)
        context = click.Context(
            command, info_name=title, terminal_width=80, **commands.context_settings
        )
        parts.append(
            f"{'#' * min(len(path) + 1, 4)} {title}\n\n```\n{command.get_help(context)}\n```\n"
        )
    return "\n".join(parts)


def walk(
    command: click.Command = commands, path: tuple[str, ...] = ("tuneledger",)
) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Every command below one, itself first, with the words that call it."""
    yield path, command
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            if below is not None:
                yield from walk(below, (*path, name))


if __name__ == "__main__":
    from tuneledger.statement.output import text_output, write_all

    write_all([text_output(Path(sys.argv[1]), page())])
