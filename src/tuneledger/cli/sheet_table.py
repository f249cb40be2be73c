"""`tuneledger sheet table`: a pasted block of numbers becomes a table of a sheet."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tuneledger.cli.sizes import large
from tuneledger.cli.slips import tell_slips
from tuneledger.cli.terminal import PRINTED, say
from tuneledger.errors import Fault, OutputError, UsageError
from tuneledger.wording import visible

if TYPE_CHECKING:
    from tuneledger.calibrations.block.assign import Placed
    from tuneledger.calibrations.block.model import BlockText
    from tuneledger.calibrations.fill import Filling
    from tuneledger.cli.map_fit import MapFit

FILE = click.Path(path_type=Path, readable=False)
SHOWN_WAYS = 4


@click.command("table")
@click.argument("sheet", type=FILE)
@click.argument("place")
@click.option(
    "--from",
    "source",
    type=FILE,
    metavar="FILE",
    default=PRINTED,
    help="The block of numbers, as text or on a workbook; without it, what is pasted or piped in.",
)
@click.option("--worksheet", metavar="NAME", help="Where in a workbook the block stands.")
@click.option("--cells", metavar="AREA", help="Which cells of the worksheet it is, as B3:J10.")
@click.option("--down", metavar="READING", help="What the axis before the rows reads.")
@click.option("--across", metavar="READING", help="What the axis above the columns reads.")
@click.option(
    "--log",
    "log_file",
    type=FILE,
    metavar="FILE",
    help="Say how well the map reproduces the scheduled advance of this log.",
)
@click.option("--roles", "roles_file", type=FILE, metavar="FILE", help="Roles for that log.")
@click.option(
    "--out", type=FILE, metavar="FILE", help="Write here, not into SHEET; - prints the sheet."
)
@click.option("--force", is_flag=True, help="Replace what would be lost.")
@large
def table(
    sheet: Path,
    place: str,
    source: Path,
    worksheet: str | None,
    cells: str | None,
    down: str | None,
    across: str | None,
    log_file: Path | None,
    roles_file: Path | None,
    out: Path | None,
    force: bool,
) -> int:
    """Put a pasted block of numbers into a sheet.

    PLACE is spark.map, or a correction by its id: spark.correction.ID, or its
    spark.correction.ID.weight.

    The block may come from a spreadsheet or a message: cells parted by tabs, semicolons, commas or
    spaces, a decimal point or comma, axes along any two edges, rising or falling, with units or
    words beside them or in the corner. It may stand on a worksheet of a workbook
    (XLSX, XLS, ODS). Missing cells become "?". All else in the sheet stays as it is, comments too.
    Where the block does not show which axis is which, READING says it, as SIGNAL [unit] or
    CHANNEL [unit]; a log can tell as well.

    Exit status: 0 done; 1 done, but the map does not reproduce the log, an axis is not what its
    signal can be, or a number of degrees can hardly be meant; 2 nothing was written; 3 done,
    but the log cannot tell.
    """
    from tuneledger.calibrations.fill import Pasted, filling
    from tuneledger.calibrations.text import read_text
    from tuneledger.statement.output import text_output, write_all

    log = _opened(log_file, roles_file)
    others = log.axes if log else ()
    found = _block(source, worksheet, cells)
    say("".join(f"{visible(note)}\n" for note in found.notes), sys.stderr)
    pasted = Pasted(found.text, _called(source), down, across, others, found.worksheet)
    prepared = filling(read_text(sheet), str(sheet), place, pasted)
    say("".join(f"{visible(note)}\n" for note in prepared.notes), sys.stderr)
    if log is None:
        way, status = _shown_by_the_block(prepared), 0
    else:
        way, status = _shown_by_the_log(prepared, log, told=bool(down or across))
    new, target = prepared.new_text(way), out or sheet
    if tell_slips(prepared.calibration(way), f"{prepared.place}."):
        status = status or 1
    if not force:
        _keep_what_is_there(prepared, way, sheet, target)
    if target == PRINTED:
        say(new)
        return status
    read = [path for path in (source, log_file, roles_file) if path is not None and path != PRINTED]
    write_all([text_output(target, new)], read)
    say(f"{visible(str(target))}: {prepared.place} is now {visible(way.says)}\n")
    return status


def _opened(log_file: Path | None, roles_file: Path | None) -> "MapFit | None":
    if log_file is None:
        return None
    from tuneledger.cli.map_fit import MapFit

    return MapFit(log_file, roles_file)


def _keep_what_is_there(prepared: "Filling", way: "Placed", sheet: Path, target: Path) -> None:
    """Refuse to replace numbers of the sheet, or another file."""
    from tuneledger.statement.places import keep_what_is_there

    if target == sheet and prepared.loses(way):
        found = "other numbers stand there and would be lost; nothing was written"
        do = "Say --force, or write it with --out."
        raise OutputError(Fault(found, file=str(target), place=prepared.place, do=do))
    if target not in (sheet, PRINTED):
        keep_what_is_there(target)


def _shown_by_the_block(prepared: "Filling") -> "Placed":
    """The way that the block itself shows."""
    if not prepared.is_clear:
        raise UsageError(_unclear(prepared))
    if not prepared.ways[0].shown:
        say("The block does not name what its axes read; taken as the sheet has it.\n", sys.stderr)
    return prepared.ways[0]


def _shown_by_the_log(prepared: "Filling", log: "MapFit", *, told: bool) -> tuple["Placed", int]:
    """The way that reproduces the log, where one does and the user has not said another."""
    from tuneledger.cli.map_fit import AHEAD, GOOD

    if not prepared.is_main_map:
        raise UsageError(Fault("a log is compared with the main map only", place=prepared.place))
    if not log.shows_scheduled:
        say("The log carries no scheduled advance; it cannot judge the map.\n", sys.stderr)
        return _shown_by_the_block(prepared), 3
    tried = [(log.of(prepared.calibration(way)), way) for way in prepared.ways]
    tried.sort(key=lambda one: -one[0].within)
    for fit, way in tried[:SHOWN_WAYS]:
        say(f"{visible(way.says)}: {fit.says}.\n", sys.stderr)
    best, *rest = tried
    lead = best[0].within - max((fit.within for fit, _ in rest), default=0.0)
    if told or (best[0].within < GOOD and lead < AHEAD):
        shown = _shown_by_the_block(prepared)
        best = next(one for one in tried if one[1] is shown)
    fit, way = best
    return way, 3 if not fit.samples else 0 if fit.within >= GOOD else 1


def _unclear(prepared: "Filling") -> Fault:
    ways = "; or ".join(way.says for way in prepared.ways[:SHOWN_WAYS])
    return Fault(
        f"it does not show which axis is which: {ways}",
        place=prepared.place,
        do="Say it with --down and --across, as SIGNAL [unit]; or name a log with --log.",
    )


def _called(source: Path) -> str:
    return "the pasted block" if source == PRINTED else str(source)


def _block(source: Path, worksheet: str | None, cells: str | None) -> "BlockText":
    """The text of the block, whatever its encoding, or what a worksheet holds as text."""
    from tuneledger.bounded import read_stream, read_whole, why_unread
    from tuneledger.calibrations.block.source import block_text

    if source == PRINTED and sys.stdin.isatty():
        say("Paste the block, then press Ctrl-D (Ctrl-Z and Enter on Windows).\n", sys.stderr)
    try:
        data = read_stream(sys.stdin.buffer) if source == PRINTED else read_whole(source)
    except OSError as problem:
        found, do = why_unread(problem)
        raise UsageError(Fault(found, file=_called(source), do=do)) from None
    return block_text(data, _called(source), worksheet, cells)
