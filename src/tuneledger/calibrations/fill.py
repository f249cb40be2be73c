"""From a pasted block and a sheet's text to the sheet's text with that table in its place."""

import re
from collections.abc import Iterator
from typing import Any

from tuneledger.calibrations.block import OnWorksheet, read_block
from tuneledger.calibrations.block.assign import Placed, assign, is_clear, shape_of
from tuneledger.calibrations.block.fitting import RawAxis
from tuneledger.calibrations.cells import UNKNOWN_CELL
from tuneledger.calibrations.insert import RawTable, calibration_with, find_table, with_table
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.nearest import nearest
from tuneledger.calibrations.paths import Steps, joined
from tuneledger.calibrations.text import parse
from tuneledger.calibrations.tree import quoted
from tuneledger.errors import Fault, UsageError
from tuneledger.record import record
from tuneledger.signals import SIGNALS

MAIN_MAP: Steps = ("spark", "map")
_NAMED = re.compile(r"(?P<name>.*?)\s*(?:[\[(](?P<unit>[^\])]*)[\])])?")


@record
class Filling:
    """A block read against a sheet, and every way in which it can stand there, likeliest first.

    now:   the table that stands in the place, {} where there is none
    notes: sentences on how the block was read
    """

    text: str
    file: str
    where: Steps
    now: RawTable
    ways: tuple[Placed, ...]
    notes: tuple[str, ...]

    @property
    def place(self) -> str:
        return joined(self.where)

    @property
    def is_main_map(self) -> bool:
        return self.where == MAIN_MAP

    @property
    def is_clear(self) -> bool:
        """Whether the block itself shows which axis is which."""
        return is_clear(self.ways)

    def calibration(self, way: Placed) -> Calibration:
        """What the sheet would hold. Raises SheetError with every fault that it would have."""
        return calibration_with(parse(self.text), self.where, way.axes, way.values, self.file)

    def new_text(self, way: Placed) -> str:
        """The sheet's text with the block put in this way. Raises SheetError like `calibration`."""
        return with_table(self.text, self.where, way.axes, way.values, self.file)

    def loses(self, way: Placed) -> bool:
        """Whether numbers that stand in the place would be gone."""
        if "amount" in self.now:
            return True
        new = {"axes": [dict(axis) for axis in way.axes], "values": way.values}
        known = any(cell != UNKNOWN_CELL for cell in _cells(self.now.get("values", ())))
        return known and not _alike(self.now, new)


@record
class Pasted:
    """A block of numbers as text, with what was said about it.

    source:       where it is from, named in faults
    down, across: what its axes read, as the user names it: `engine speed [rpm]`
    others:       signals that they may read as well, where a log will decide
    worksheet:    where in a workbook it stood; None of text
    """

    text: str
    source: str
    down: str | None = None
    across: str | None = None
    others: tuple[str, ...] = ()
    worksheet: OnWorksheet | None = None


def filling(text: str, file: str, place: str, pasted: Pasted) -> Filling:
    """Read a block for a place of a sheet, whose text and file these are.

    Raises SheetError or UsageError that says what is wrong with the sheet, place or block.
    """
    where, now = find_table(parse(text, file), place)
    axes: list[RawAxis] = [axis for axis in now.get("axes", []) if isinstance(axis, dict)]
    block = read_block(pasted.text, pasted.source, shape_of(axes), pasted.worksheet)
    down, across = (named_reading(said) if said else None for said in (pasted.down, pasted.across))
    others: list[RawAxis] = [{"signal": signal} for signal in pasted.others]
    ways = assign(block, axes, down=down, across=across, others=others)
    return Filling(text, file, where, now, tuple(ways), block.notes)


def named_reading(text: str) -> RawAxis:
    """`engine speed [rpm]` as a raw reading: a signal where its name is one, else a channel.

    Raises UsageError where a name is nearly that of a signal.
    """
    match = _NAMED.fullmatch(text.strip())
    name = match["name"].strip() if match else text
    by_fold = {signal.casefold(): signal for signal in SIGNALS}
    signal = by_fold.get(name.casefold())
    near = nearest(name, SIGNALS, cutoff=0.85)
    if not name or (signal is None and near is not None):
        do = f'Did you mean "{near}"?' if near else "Name a signal, or a channel of the log."
        raise UsageError(Fault(f"nothing reads {quoted(name)}", do=do))
    reading: RawAxis = {"signal": signal} if signal else {"channel": name}
    return reading | ({"unit": match["unit"]} if match and match["unit"] else {})


def _cells(values: Any) -> Iterator[Any]:
    if isinstance(values, list | tuple):
        for item in values:
            yield from _cells(item)
    else:
        yield values


def _alike(one: RawTable, other: RawTable) -> bool:
    points = [
        [list(axis.get("at", ())) for axis in table.get("axes", [])] for table in (one, other)
    ]
    return points[0] == points[1] and list(_cells(one["values"])) == list(_cells(other["values"]))
