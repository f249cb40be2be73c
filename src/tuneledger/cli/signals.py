"""`tuneledger signals`: the vocabulary, with units and what each signal can be."""

from pathlib import Path

import click

from tuneledger.cli.terminal import PRINTED, say
from tuneledger.signals import SIGNALS, Signal

FORMAT = "tuneledger-signals/1"


@click.command("signals")
@click.option(
    "--json",
    "json_file",
    type=click.Path(path_type=Path, readable=False),
    metavar="FILE",
    help="Write the signals as JSON; - prints it.",
)
def command(json_file: Path | None) -> int:
    """List the signals with their units and spans.

    A span is the widest that a healthy signal takes on an engine. Sheets and roles files name
    signals by these names; any other channel is named as the log has it.

    Exit status: 0 done; 2 it could not be written.
    """
    if json_file is None:
        say(table())
        return 0
    from tuneledger.statement.json import json_text
    from tuneledger.statement.output import text_output, write_all

    text = json_text({"format": FORMAT, "signals": [_plain(s) for s in SIGNALS.values()]})
    if json_file == PRINTED:
        say(text)
    else:
        write_all([text_output(json_file, text)])
    return 0


def _plain(signal: Signal) -> dict[str, str | float]:
    return {
        "name": signal.name,
        "unit": signal.unit,
        "lowest": signal.lowest,
        "highest": signal.highest,
        "says": signal.says,
    }


def table() -> str:
    """One line per signal: name, lowest to highest with the unit, what it is."""
    from tuneledger.wording import quantity

    # Time has no highest value that would mean something.
    rows = [
        (s.name, f"{quantity(s.lowest, '')} to {quantity(s.highest, s.unit)}", s.says)
        if s.name != "time"
        else (s.name, f"from {quantity(0, s.unit)}", s.says)
        for s in SIGNALS.values()
    ]
    name, span = (max(len(row[i]) for row in rows) for i in (0, 1))
    return "".join(f"{a:<{name}}  {b:<{span}}  {c}\n" for a, b, c in rows)
