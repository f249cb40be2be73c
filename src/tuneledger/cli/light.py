"""`tuneledger light`: readings of a timing light in, offset and delay out."""

import sys
from pathlib import Path

import click

from tuneledger.cli.sizes import large
from tuneledger.cli.terminal import PRINTED, has_colour, page_size, say

FILE = click.Path(path_type=Path, readable=False)


@click.command("light")
@click.argument("readings", type=FILE, metavar="READINGS")
@click.option("--rpm", metavar="NAME", help="The column of engine speed.")
@click.option("--commanded", metavar="NAME", help="The column of the commanded advance.")
@click.option("--observed", metavar="NAME", help="The column of the observed advance.")
@click.option(
    "--json", "json_file", type=FILE, metavar="FILE", help="Write the answer as JSON; - prints it."
)
@click.option("--page", type=FILE, metavar="FILE", help="Write it as one page with the figure.")
@large
def command(
    readings: Path,
    rpm: str | None,
    commanded: str | None,
    observed: str | None,
    json_file: Path | None,
    page: Path | None,
) -> int:
    """Say whether the crank gets what the ECU commands, from timing-light readings.

    READINGS is a table of engine speed, commanded and observed advance (degrees before top dead
    centre), in any dress in which logs come. The answer parts a reference angle that is off from a
    delay, says how sure each is, what to correct, and in which direction.

    Exit status: 0 agrees; 1 something to correct; 2 the table cannot be used; 3 too few or too
    narrow readings to tell.
    """
    from tuneledger.statement.output import text_output, write_all
    from tuneledger.statement.places import check_places

    target = None if json_file in (None, PRINTED) else json_file
    check_places([path for path in (target, page) if path is not None], [readings])

    from tuneledger.light import timing_light
    from tuneledger.light.json import as_json
    from tuneledger.statement.json import json_text

    named = {"rpm": rpm, "commanded": commanded, "observed": observed}
    fit = timing_light(readings, columns={name: column for name, column in named.items() if column})
    outputs = []
    if target is not None:
        outputs.append(text_output(target, json_text(as_json(fit))))
    if page is not None:
        from tuneledger.pages.light import light_page

        outputs.append(text_output(page, light_page(fit)))
    write_all(outputs, [readings])
    if json_file == PRINTED:
        say(json_text(as_json(fit)))
        return fit.exit_status
    from tuneledger.light.text import as_text

    width, _ = page_size(sys.stdout)
    say(as_text(fit, width=width, colour=has_colour(sys.stdout)))
    return fit.exit_status
