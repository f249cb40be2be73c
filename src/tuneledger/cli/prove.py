"""`tuneledger prove`: drives before and after a change in, what is gone and what is not out."""

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from tuneledger.cli.sizes import large
from tuneledger.cli.terminal import PRINTED, has_colour, page_size, say

FILE = click.Path(path_type=Path, readable=False)
_LISTS = ("--before", "--after")


class Lists(click.Command):
    """Options that take all the files up to the next option: `--before a.csv b.csv`."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        return super().parse_args(ctx, list(_spread(args)))


def _spread(args: Sequence[str]) -> Iterator[str]:
    """`--before a b` as `--before a --before b`."""
    current, taken = None, 0
    for arg in args:
        name, given, _ = arg.partition("=")
        if arg.startswith("-") and arg != "-":
            current, taken = (arg if arg in _LISTS else None), 0
            if given and name in _LISTS:
                current, taken = name, 1
            yield arg
        elif current is not None:
            if taken:
                yield current
            yield arg
            taken += 1
        else:
            yield arg


@click.command("prove", cls=Lists)
@click.argument("sheets", nargs=-1, type=FILE, metavar="SHEET...")
@click.option(
    "--before",
    multiple=True,
    required=True,
    type=FILE,
    metavar="LOG...",
    help="The drives before the change.",
)
@click.option(
    "--after",
    multiple=True,
    required=True,
    type=FILE,
    metavar="LOG...",
    help="The drives after it; sheets may stand at the end.",
)
@click.option("--roles", type=FILE, metavar="FILE", help="Say which channel is which signal.")
@click.option(
    "--json", "json_file", type=FILE, metavar="FILE", help="Write the proof as JSON; - prints it."
)
@click.option("--no-memory", is_flag=True, help="Do not use roles remembered from earlier logs.")
@large
def command(
    sheets: tuple[Path, ...],
    before: tuple[Path, ...],
    after: tuple[Path, ...],
    roles: Path | None,
    json_file: Path | None,
    no_memory: bool,
) -> int:
    """Say which causes are gone after a change, which remain, which are new.

    The drives before and after it are told by their options, sheets from logs by content. A cause
    is gone only where the second drive went where the first one showed it; what was not driven
    again is "not shown", never "fixed".

    Exit status: 0 all is gone or expected; 1 something remains or is new, or protected the engine
    and is gone or eased, and always where delivered stands above scheduled under load; 2 a file
    could not be used; 3 something was not shown.
    """
    from tuneledger.statement.output import text_output, write_all
    from tuneledger.statement.places import check_places

    inputs = [*sheets, *before, *after, *([roles] if roles else [])]
    target = None if json_file in (None, PRINTED) else json_file
    check_places([target] if target else [], inputs)

    from tuneledger.change.proof_out import as_json, as_text
    from tuneledger.change.prove import prove
    from tuneledger.statement.json import json_text

    first, more = _parted(before)
    second, others = _parted(after)
    _refuse_logs(sheets)
    given = [*more, *others, *sheets]
    proof = prove(first, second, given, roles_file=roles, memory=not no_memory)
    if target is not None:
        write_all([text_output(target, json_text(as_json(proof)))], inputs)
    if json_file == PRINTED:
        say(json_text(as_json(proof)))
        return proof.exit_status
    width, _ = page_size(sys.stdout)
    say(as_text(proof, width=width, colour=has_colour(sys.stdout)))
    return proof.exit_status


def _refuse_logs(files: Sequence[Path]) -> None:
    """A log that stands under neither option belongs to neither drive."""
    from tuneledger.errors import Fault, UsageError

    faults = [
        Fault("this is not a sheet", file=str(file), do="Say --before or --after for a log.")
        for file in _parted(files)[0]
    ]
    if faults:
        raise UsageError(faults)


def _parted(files: Sequence[Path]) -> tuple[list[Path], list[Path]]:
    """(logs, sheets) among the files of an option; what cannot be read is left to the reader."""
    from tuneledger.handed import is_sheet

    sheets = [file for file in files if is_sheet(file)]
    return [file for file in files if file not in sheets], sheets
