"""`tuneledger sheet to`: a sheet's numbers as ASAM CDF."""

import sys
from pathlib import Path

import click

from tuneledger.cli.sizes import large
from tuneledger.cli.terminal import say
from tuneledger.errors import Fault, OutputError
from tuneledger.wording import count, visible

FILE = click.Path(path_type=Path, readable=False)
SHOWN = 20


@click.command("to")
@click.argument("sheet", type=FILE)
@click.argument("out", type=FILE)
@click.option(
    "--mapping", type=FILE, metavar="FILE", help="Write what it names, under those names."
)
@click.option("--force", is_flag=True, help="Replace OUT where it exists.")
@large
def give(sheet: Path, out: Path, mapping: Path | None, force: bool) -> int:
    """Write a sheet's numbers as ASAM CDF 2.0 (XML).

    Every map, curve, number, switch and text goes under its place in the sheet
    (spark.correction.ID.values), or with --mapping under the control unit's names. What an axis
    reads, conditions, effects and reasons have no place in CDF; tables with unknown cells are left
    out and named.

    Exit status: 0 done, 2 nothing was written.
    """
    from tuneledger.calibrations import open_calibration
    from tuneledger.calibrations.asam.cdf.write import as_cdf
    from tuneledger.calibrations.asam.mapping.back import parameters_of
    from tuneledger.calibrations.text import parse, read_text
    from tuneledger.statement.output import text_output, write_all
    from tuneledger.statement.places import keep_what_is_there

    if not force:
        keep_what_is_there(out)
    calibration = open_calibration(sheet)
    raw = parse(read_text(mapping), str(mapping)) if mapping is not None else None
    going = parameters_of(calibration, raw)
    if not going.parameters:
        do = None if mapping is None else "Does the mapping belong to this sheet?"
        raise OutputError(Fault("there is nothing to write", file=str(sheet), do=do))
    text = as_cdf(going.parameters.values(), calibration.title or calibration.revision)
    write_all([text_output(out, text)], [sheet, *([mapping] if mapping else [])])
    left = [f"{visible(one)}; left out\n" for one in going.lost]
    more = len(left) - SHOWN
    say("".join(left[:SHOWN]) + (f"and {more} more\n" if more > 0 else ""), sys.stderr)
    say(f"Wrote {visible(str(out))}: {count(len(going.parameters), 'parameter')}.\n")
    return 0
