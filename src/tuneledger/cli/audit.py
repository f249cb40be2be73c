"""`tuneledger audit`: sheets in, findings and reach out."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tuneledger.cli.sizes import large
from tuneledger.cli.terminal import PRINTED, has_colour, page_size, say, written

if TYPE_CHECKING:
    from tuneledger.audit.model import Audit
    from tuneledger.statement.output import Output

FILE = click.Path(path_type=Path, readable=False)


@click.command("audit")
@click.argument("sheets", nargs=-1, required=True, type=FILE, metavar="SHEET...")
@click.option(
    "--log", type=FILE, metavar="LOG", help="A log of the car: does the map reach far enough?"
)
@click.option(
    "--roles", type=FILE, metavar="FILE", help="Say which channel of the log is which signal."
)
@click.option(
    "--json", "json_file", type=FILE, metavar="FILE", help="Write the answer as JSON; - prints it."
)
@click.option(
    "--page", type=FILE, metavar="FILE", help="Write findings and reach as one HTML page."
)
@click.option("--all", "everything", is_flag=True, help="Fold nothing away.")
@click.option(
    "--accept",
    type=int,
    metavar="NUMBER",
    help="Write into the sheet that you accept this finding.",
)
@click.option("--reason", metavar="TEXT", help="Why you accept it.")
@large
def command(
    sheets: tuple[Path, ...],
    log: Path | None,
    roles: Path | None,
    json_file: Path | None,
    page: Path | None,
    everything: bool,
    accept: int | None,
    reason: str | None,
) -> int:
    """Judge calibrations by themselves, and say how far each cell can be moved.

    Several sheets are revisions of one car: what changed, where it can be felt, and what changed
    without a note. docs/audit.md explains every check; docs/reach.md what counts as reachable.

    Exit status: 0 nothing but notes and what the owner accepted; 1 something to say; 2 a file could
    not be used; 3 no cell of the map is known.
    """
    inputs = [*sheets, *(path for path in (log, roles) if path)]
    places = [place for place in (json_file, page) if place and place != PRINTED]
    if places:
        from tuneledger.statement.places import check_places

        check_places(places, inputs)
    if (accept is None) != (reason is None):
        raise click.UsageError("--accept and --reason go together")

    from tuneledger.audit.job import audit_files

    audit = audit_files(sheets, log=log, roles=roles)
    if accept is not None:
        from tuneledger.statement.output import write_all

        write_all([_accepting(audit, sheets, accept, reason or "")])
        audit = audit_files(sheets, log=log, roles=roles)
    outputs = []
    if json_file is not None and json_file != PRINTED:
        from tuneledger.statement.output import text_output

        outputs.append(text_output(json_file, _json(audit)))
    if page is not None:
        from tuneledger.pages.audit import audit_page
        from tuneledger.statement.output import text_output

        outputs.append(text_output(page, audit_page(audit)))
    if outputs:
        from tuneledger.statement.output import write_all

        write_all(outputs, inputs)
    if json_file == PRINTED:
        say(_json(audit))
        return audit.exit_status
    from tuneledger.audit.text import as_text

    width, height = page_size(sys.stdout)
    text = as_text(
        audit, width=width, height=height, colour=has_colour(sys.stdout), everything=everything
    )
    say(text + written(outputs))
    return audit.exit_status


def _json(audit: "Audit") -> str:
    from tuneledger.audit.json import as_json
    from tuneledger.statement.json import json_text

    return json_text(as_json(audit))


def _accepting(audit: "Audit", sheets: tuple[Path, ...], number: int, reason: str) -> "Output":
    """The sheet with the owner's word on a finding added at its end."""
    from tuneledger.audit.accepted import entry
    from tuneledger.audit.groups import groups
    from tuneledger.audit.names import files_apart
    from tuneledger.calibrations.check import check
    from tuneledger.calibrations.text import parse, read_text
    from tuneledger.errors import Fault, UsageError
    from tuneledger.statement.output import text_output

    found = [g for g in groups(audit) if g.severity != "note"]
    group = next((g for g in found if g.number == number), None)
    if group is None:
        expected = f"1 to {len(found)}" if found else "none is open"
        raise UsageError(Fault(f"there is no finding {number}", expected=expected))
    if len(group.findings) > 1:
        raise UsageError(
            Fault(
                f"finding {number} stands in several sheets",
                do="Accept it with one sheet at a time.",
            )
        )
    (finding,) = group.findings
    path = sheets[files_apart(sheets).index(finding.file)]
    sheet = next(s for s in audit.sheets if s.file == finding.file)
    text = read_text(path)
    text += (
        ("" if text.endswith("\n") else "\n")
        + "\n"
        + entry(finding, sheet.file, sheet.calibration, reason)
    )
    check(parse(text, str(path)), str(path))
    return text_output(path, text)
