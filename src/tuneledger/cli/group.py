"""The group of commands, which imports a command only when it is used."""

import os
from importlib import import_module
from typing import cast

import click

from tuneledger.cli.registry import COMMANDS


class Commands(click.Group):
    """Commands out of the registry; their list needs none of them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        entry = COMMANDS.get(cmd_name)
        return cast(click.Command, import_module(entry.module).command) if entry else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, entry.help) for name, entry in COMMANDS.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args[0] not in COMMANDS and os.path.exists(args[0]):  # noqa: PTH110 it never raises
            if os.path.isdir(args[0]):  # noqa: PTH112 it never raises
                ctx.fail(f"'{args[0]}' is a folder. Name the files in it, a log and its sheets.")
            ctx.fail(f"'{args[0]}' is a file. Try: tuneledger reconcile {' '.join(args)}")
        return super().resolve_command(ctx, args)


def print_version(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    """Print the version and leave, where it is asked for."""
    if wanted and not ctx.resilient_parsing:
        from tuneledger import __version__
        from tuneledger.cli.terminal import say

        say(f"tuneledger {__version__}\n")
        ctx.exit()


@click.command(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=print_version,
    help="Show the version and stop.",
)
def commands() -> None:
    """Reconcile scheduled with delivered spark advance, like a bank statement.

    Hand over logs and calibration sheets in any order. The answer says whether the ECU did what
    was asked, where every degree went, with what evidence, and what to do or log next.

    It advises; it never writes to an ECU. Timing can break engines and hurt people: change it in
    small steps, with knock and exhaust temperature watched, by someone qualified.
    """
    from tuneledger.cli.memory import keep_freed

    keep_freed()
