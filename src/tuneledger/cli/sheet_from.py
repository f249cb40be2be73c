"""`tuneledger sheet contents` and `sheet from`: calibrations of open standards become sheets."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tuneledger.cli.sizes import large
from tuneledger.cli.slips import tell_slips
from tuneledger.cli.terminal import PRINTED, say
from tuneledger.errors import Fault, UsageError
from tuneledger.wording import count, listing, visible

if TYPE_CHECKING:
    from tuneledger.calibrations.asam.files import Wishes
    from tuneledger.calibrations.asam.parameter import Entry

FILE = click.Path(path_type=Path, readable=False)
_ORDERS = {"msb-first": "MSB_FIRST", "msb-last": "MSB_LAST"}


class Address(click.ParamType[int]):
    """A whole number, decimal or as 0x…, with a sign or without."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        if isinstance(value, int):
            return value
        try:
            return int(str(value), 0)
        except ValueError:
            self.fail(f"{value!r} is no whole number; write it as 4096 or 0x1000", param, ctx)


def _files(command: Callable[..., int]) -> Callable[..., int]:
    """The argument and the options of every command that reads such files."""
    for option in (
        large,
        click.option(
            "--mismatched",
            is_flag=True,
            help="Read an image that is marked as another version than the description's.",
        ),
        click.option(
            "--byte-order",
            type=click.Choice(list(_ORDERS)),
            help="Where a number's highest byte stands, if the description leaves it open.",
        ),
        click.option(
            "--shift",
            type=Address(),
            default=0,
            metavar="NUMBER",
            help="What is added to the description's addresses to find them in the image.",
        ),
        click.argument("files", nargs=-1, required=True, type=FILE, metavar="FILE..."),
    ):
        command = option(command)
    return command


@click.command("contents")
@_files
@click.option("--find", metavar="TEXT", help="Only those that have this in name or description.")
def contents(
    files: tuple[Path, ...], shift: int, byte_order: str | None, mismatched: bool, find: str | None
) -> int:
    """List what a calibration holds: name, kind, size, unit, description.

    FILE is an ASAM MCD-2 MC description (A2L), with or without its image (Intel HEX or Motorola
    S-record), or a file of ASAM CDF. With the image it also shows which parameters have their bytes
    in it. What cannot become part of a sheet is listed with the reason.

    Exit status: 0 listed, whatever cannot become part of a sheet; 2 a file could not be used.
    """
    from tuneledger.calibrations.asam.files import open_store, sort_files

    store = open_store(sort_files(files), _wishes(shift, byte_order, mismatched))
    entries = list(store.entries())
    wanted = (find or "").casefold()
    shown = [entry for entry in entries if wanted in f"{entry.name} {entry.says}".casefold()]
    say(_table(shown))
    lost = sum(entry.lost is not None for entry in entries)
    of = f"{len(shown)} of " if find else ""
    say(f"{of}{count(len(entries), 'parameter')}; {lost} cannot become part of a sheet.\n")
    say("".join(f"{visible(note)}\n" for note in store.notes), sys.stderr)
    return 0


def _table(entries: "list[Entry]") -> str:
    rows = [(visible(e.name), e.kind, e.size, visible(e.unit)) for e in entries]
    widths = [min(max((len(row[n]) for row in rows), default=0), 40) for n in range(4)]
    lines = []
    for entry, row in zip(entries, rows, strict=True):
        cells = "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True))
        lost = f"NOT REPRESENTED: {entry.lost}. " if entry.lost else ""
        lines.append(f"{cells}  {visible(lost + entry.says)}".rstrip())
    return "".join(f"{line}\n" for line in lines)


@click.command("from")
@_files
@click.option("-o", "--out", type=FILE, metavar="SHEET", help="Write here; else it is printed.")
@click.option("--force", is_flag=True, help="Replace SHEET where it exists.")
def make(
    files: tuple[Path, ...],
    shift: int,
    byte_order: str | None,
    mismatched: bool,
    out: Path | None,
    force: bool,
) -> int:
    """Make a sheet of a calibration in an open standard's form.

    FILE... are, in any order: an ASAM MCD-2 MC description (A2L) and its image (Intel HEX or
    Motorola S-record), or a file of ASAM CDF; and the mapping. That is a sheet in which
    { characteristic = "NAME" } stands for numbers, points or words; docs/calibrations.md has one.
    A file that the description includes is given like the others; none is opened by itself.

    What had to be assumed, as of an unknown unit, is said, and stands in the sheet's head; so does
    what is odd about the files, as an image of another version.

    Exit status: 0 done; 1 done, but an axis is not what its signal can be, or a number of
    degrees can hardly be meant; 2 nothing was written.
    """
    from tuneledger.calibrations.asam.files import open_store, sort_files
    from tuneledger.calibrations.asam.mapping.choose import choose
    from tuneledger.calibrations.text import parse, read_text

    given = sort_files(files)
    if len(given.sheets) != 1:
        found = f"{len(given.sheets)} mappings" if given.sheets else "no mapping is among the files"
        do = 'Write one: a sheet with { characteristic = "NAME" } where numbers are to stand.'
        raise UsageError(Fault(found, expected="one mapping", do=do))
    mapping = given.sheets[0]
    raw = parse(read_text(mapping), str(mapping))
    store = open_store(given, _wishes(shift, byte_order, mismatched))
    if given.descriptions and not given.images:
        found = f"{given.descriptions[0].name} says where the numbers stand, and holds none"
        expected = "the image with it (Intel HEX or Motorola S-record)"
        raise UsageError(Fault(found, expected=expected))
    chosen = choose(raw, store, str(mapping))
    notes = [*store.notes, *chosen.notes]
    say("".join(f"{visible(note)}\n" for note in notes), sys.stderr)
    status = int(tell_slips(chosen.calibration))
    sources = [path.name for path in files if path != mapping]
    text = chosen.text(f"{listing(sources)} by {mapping.name}")
    if out is None or out == PRINTED:
        say(text)
        return status
    _write(out, text, files, force)
    filled = f"{count(len(chosen.used), 'place')} filled out of {listing(sources)}"
    say(visible(f"Wrote {out}: {filled}.") + "\n")
    return status


def _write(out: Path, text: str, inputs: tuple[Path, ...], force: bool) -> None:
    from tuneledger.statement.output import text_output, write_all
    from tuneledger.statement.places import keep_what_is_there

    if not force:
        keep_what_is_there(out)
    write_all([text_output(out, text)], inputs)


def _wishes(shift: int, byte_order: str | None, mismatched: bool) -> "Wishes":
    from tuneledger.calibrations.asam.files import Wishes

    return Wishes(shift, _ORDERS.get(byte_order or ""), mismatched)
