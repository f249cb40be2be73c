"""`tuneledger sheet`: start, check and fill calibration sheets."""

from pathlib import Path

import click

from tuneledger.cli.sheet_from import contents, make
from tuneledger.cli.sheet_table import table
from tuneledger.cli.sheet_to import give
from tuneledger.cli.sizes import large
from tuneledger.cli.terminal import say

FILE = click.Path(path_type=Path, readable=False)


@click.group("sheet", context_settings={"help_option_names": ["-h", "--help"]})
def command() -> None:
    """Start, check and fill calibration sheets.

    A sheet is one revision of a calibration as a TOML file; docs/sheet-format.md explains it.
    """


@command.command("new")
@click.argument("file", required=False, type=FILE)
@click.option("--force", is_flag=True, help="Overwrite FILE where it exists.")
def new(file: Path | None, force: bool) -> int:
    """Write a commented sheet to start from.

    Without FILE it is printed.

    Exit status: 0 done; 2 nothing was written, as where FILE exists.
    """
    from tuneledger.calibrations.starting_point import starting_point

    if file is None:
        say(starting_point())
        return 0
    from tuneledger.statement.output import text_output, write_all
    from tuneledger.statement.places import keep_what_is_there
    from tuneledger.wording import visible

    if not force:
        keep_what_is_there(file)
    write_all([text_output(file, starting_point())])
    shown = visible(str(file))
    say(f"Wrote {shown}. Fill in its map with: tuneledger sheet table {shown} spark.map\n")
    return 0


@command.command("check")
@click.argument("files", nargs=-1, required=True, type=FILE, metavar="FILE...")
@large
def check(files: tuple[Path, ...]) -> int:
    """Name every fault of sheets, each with its place, and degrees that can hardly be meant.

    Exit status: 0 all are without fault, 2 one is not.
    """
    from tuneledger.calibrations import open_calibration
    from tuneledger.calibrations.plausible import beyond
    from tuneledger.errors import SheetError
    from tuneledger.wording import count, visible

    status = 0
    for path in files:
        file = visible(str(path))
        try:
            calibration = open_calibration(path)
        except SheetError as error:
            status = 2
            say("".join(f"{visible(str(fault))}\n" for fault in error.faults))
            say(f"{file}: {count(len(error.faults), 'fault')}\n")
        else:
            corrections = count(len(calibration.spark.correction), "correction")
            revision = visible(calibration.revision)
            say(f"{file}: no fault; revision {revision}, {corrections}\n")
            for one in beyond(calibration):
                say(f"{file}: {one.briefly}\n")
    return status


@command.command("schema")
def schema() -> int:
    """Print the JSON Schema of sheets, for editors and other programs.

    Exit status: 0 done; 2 it could not be written.
    """
    from importlib.resources import files

    path = files("tuneledger.calibrations").joinpath("sheet.schema.json")
    say(path.read_text(encoding="utf-8"))
    return 0


for part in (table, contents, make, give):
    command.add_command(part)
