"""The commands by name. A new command is one file beside this one and one line here.

Nothing is imported until a command is used: the start and `--help` need only this list.
"""

from typing import NamedTuple


class Entry(NamedTuple):
    """Where a command lives, and the line that the list of commands shows for it."""

    module: str  # holds the click command as `command`
    help: str


COMMANDS: dict[str, Entry] = {
    "reconcile": Entry(
        "tuneledger.cli.reconcile", "Say where every degree went, from logs and sheets."
    ),
    "desk": Entry(
        "tuneledger.cli.desk", "Open the desk: drop files on a page, look, correct, rehearse."
    ),
    "look": Entry(
        "tuneledger.cli.look", "Show what is in a log, and which channel is which signal."
    ),
    "rehearse": Entry(
        "tuneledger.cli.rehearse",
        "Replay a log under a changed sheet: what would have moved, where, and how sure that is.",
    ),
    "audit": Entry(
        "tuneledger.cli.audit",
        "Judge calibrations by themselves, and say how far each cell can be moved.",
    ),
    "order": Entry(
        "tuneledger.cli.order",
        "Write the change order: one page for whoever holds the car.",
    ),
    "prove": Entry(
        "tuneledger.cli.prove",
        "Say which causes are gone after a change, which remain, which are new.",
    ),
    "light": Entry(
        "tuneledger.cli.light",
        "Say whether the crank gets what the ECU commands, from timing-light readings.",
    ),
    "convert": Entry("tuneledger.cli.convert", "Write a log in another format."),
    "sheet": Entry("tuneledger.cli.sheet", "Start, check and fill calibration sheets."),
    "signals": Entry("tuneledger.cli.signals", "List the signals with their units and spans."),
}
