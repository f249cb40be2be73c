"""`tuneledger reconcile`: files in, a statement out."""

import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tuneledger.cli.question import ask, can_ask, not_asked, open_question
from tuneledger.cli.sizes import given, large
from tuneledger.cli.terminal import (
    NO_ACCOUNT,
    PRINTED,
    has_colour,
    not_written,
    page_size,
    say,
    written,
)
from tuneledger.errors import Fault, UsageError
from tuneledger.record import record

if TYPE_CHECKING:
    from tuneledger.statement.model import Statement
    from tuneledger.statement.output import Output

FILE = click.Path(path_type=Path, readable=False)


@click.command("reconcile")
@click.argument("files", nargs=-1, required=True, type=FILE, metavar="FILE...")
@click.option("--roles", type=FILE, metavar="FILE", help="Say which channel is which signal.")
@click.option("--save-roles", type=FILE, metavar="FILE", help="Write the roles that were found.")
@click.option(
    "--json",
    "json_file",
    type=FILE,
    metavar="FILE",
    help="Write the statement as JSON; - prints it.",
)
@click.option(
    "--ledger",
    type=FILE,
    metavar="FILE",
    help="Write the ledger sample by sample; the name ends in .csv, .parquet or .mf4.",
)
@click.option(
    "--page", type=FILE, metavar="FILE", help="Write the statement as one HTML page with figures."
)
@click.option(
    "--figure",
    type=FILE,
    metavar="FILE",
    help="Write a picture of the strips, or of the map, for a report: .svg, or .png (an extra).",
)
@click.option(
    "--figure-of",
    metavar="WHAT",
    default="",
    help="What it shows: 'cause 2', seconds such as '12.4-18', or 'map'; else the first cause.",
)
@click.option(
    "--draft-sheet",
    type=FILE,
    metavar="FILE",
    help="Write what the logs have shown as a sheet, marked as not for loading.",
)
@click.option(
    "--reply",
    type=FILE,
    metavar="FILE",
    help="Write a short text, ready to send, that asks for what is missing; - prints it.",
)
@click.option("--no-memory", is_flag=True, help="Do not use roles remembered from earlier logs.")
@large
def command(
    files: tuple[Path, ...],
    roles: Path | None,
    save_roles: Path | None,
    json_file: Path | None,
    ledger: Path | None,
    page: Path | None,
    figure: Path | None,
    figure_of: str,
    draft_sheet: Path | None,
    reply: Path | None,
    no_memory: bool,
) -> int:
    """Say where every degree went, from logs and sheets.

    FILE... are logs and calibration sheets in any order, told apart by content, packed or not; - is
    what is piped in. The first sheet is the one that the ECU is said to run; a log alone is useful
    too.

    Where something turns on a channel that is not sure to be what it seems, a person at a terminal
    is asked one question; elsewhere a line says what to tell in a roles file.

    The files of one call appear together or not at all.

    Exit status: 0 agrees or expected; 1 there is something to see, and always where delivered
    stands above scheduled under load; 2 a file could not be used; 3 cannot tell yet.
    """
    from tuneledger.statement.output import write_all
    from tuneledger.statement.places import check_places

    printed = _printed(json_file, reply)
    targets = Targets(
        *(None if json_file == PRINTED else json_file, ledger, page, save_roles, draft_sheet),
        *(None if reply == PRINTED else reply, figure, figure_of),
    )
    inputs = [*given(files), *([roles] if roles else [])]
    check_places(targets.places, inputs)
    targets.check_endings()

    from tuneledger.main_job import reconcile_files

    statement = reconcile_files(
        files, roles_file=roles, memory=not no_memory, meanwhile=_learn_to_say
    )
    doubt = open_question(statement)
    if doubt and printed is None and can_ask(sys.stdin, sys.stdout):
        answer, doubt = ask(doubt), None
        if answer:
            statement = reconcile_files(
                files, roles_file=roles, memory=not no_memory, answers=answer
            )
    outputs = list(targets.outputs(statement))
    width, height = page_size(sys.stdout)
    if printed is not None:
        text = printed(statement)
    else:
        from tuneledger.statement.text import as_text

        text = as_text(statement, width=width, height=height, colour=has_colour(sys.stdout))
        text += (not_asked(doubt) if doubt else "") + written(outputs)
    write_all(outputs, inputs)
    say(text)
    return statement.exit_status


def _learn_to_say() -> None:
    """Import what the answer is said with."""
    import tuneledger.statement.asking
    import tuneledger.statement.text  # noqa: F401


@record
class Targets:
    """Where the outputs of one call go, None where one is not wanted."""

    json: Path | None
    ledger: Path | None
    page: Path | None
    roles: Path | None
    draft: Path | None
    reply: Path | None
    figure: Path | None
    figure_of: str

    @property
    def places(self) -> list[Path]:
        all_of_them = (
            *(self.json, self.ledger, self.page, self.roles),
            *(self.draft, self.reply, self.figure),
        )
        return [place for place in all_of_them if place is not None]

    def check_endings(self) -> None:
        if self.ledger is not None:
            from tuneledger.statement.table import check_ending

            check_ending(self.ledger)
        if self.figure is not None:
            from tuneledger.pages.raster import check_picture

            check_picture(self.figure)

    def outputs(self, statement: "Statement") -> Iterator["Output"]:
        """Every output, ready to be written; what has no answer here is left out and said."""
        from tuneledger.statement.output import text_output

        if self.json is not None:
            yield text_output(self.json, statement_json(statement))
        if self.ledger is not None:
            from tuneledger.statement.table import ledger_output

            if any(account.ledger for account in statement.logs):
                yield ledger_output(statement.logs, self.ledger)
            else:
                not_written("ledger", self.ledger, NO_ACCOUNT)
        if self.page is not None:
            from tuneledger.pages import write_page

            yield text_output(self.page, write_page(statement))
        if self.figure is not None:
            from tuneledger.pages.raster import picture_output
            from tuneledger.pages.strips import figure

            yield picture_output(self.figure, figure(statement, self.figure_of))
        if self.roles is not None:
            from tuneledger.roles.files import roles_text

            yield text_output(self.roles, roles_text([a.roles for a in statement.logs]))
        if self.draft is not None:
            from tuneledger.draft import NOTHING_TO_DRAFT, draft_sheet

            drafted = draft_sheet(statement)
            if drafted is not None:
                yield text_output(self.draft, drafted.text)
            else:
                not_written("sheet", self.draft, NOTHING_TO_DRAFT)
        if self.reply is not None:
            yield text_output(self.reply, reply_text(statement))


def _printed(json_file: Path | None, reply: Path | None) -> "Callable[[Statement], str] | None":
    """What is printed in place of the statement's text; at most one thing can be."""
    if json_file == PRINTED and reply == PRINTED:
        found = "the JSON and the reply would both be printed"
        raise UsageError(Fault(found, do="Give one of them the name of a file."))
    if json_file == PRINTED:
        return statement_json
    return reply_text if reply == PRINTED else None


def reply_text(statement: "Statement") -> str:
    """The text for whoever sent the log, imported only where it is asked for."""
    from tuneledger.statement.reply import reply

    return reply(statement)


def statement_json(statement: "Statement") -> str:
    """The statement as JSON text, imported only where it is asked for."""
    from tuneledger.statement.json import as_json, json_text

    return json_text(as_json(statement))
