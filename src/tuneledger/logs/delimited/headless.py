"""Why a table of numbers has no header row above it, where one stands farther up."""

from collections.abc import Sequence

from tuneledger.errors import Fault
from tuneledger.logs.delimited.dialect import DELIMITERS, is_value, split
from tuneledger.wording import count, visible

_FEWEST_ROWS = 2
_SHOWN = 40  # characters of a cell
_FORMULA = "="


def cut_off_header(lines: Sequence[str], file: str, *, whole: bool) -> Fault | None:
    """What stands between a header row in the first line and the samples; None where nothing does.

    lines: the first of a file that holds a table of numbers and no header row right above it
    whole: they are all of it
    """
    filled = [(i, line) for i, line in enumerate(lines) if line.strip()]
    if not filled:
        return None
    at, first = filled[0]
    delimiter = max(DELIMITERS, key=first.count)
    names = split(first, delimiter)
    if len(names) < 2 or not all(names) or any(map(is_value, names)):
        return None
    below = [(i, split(line, delimiter)) for i, line in filled[1:]]
    bad = [(i, row) for i, row in below if len(row) == len(names) and not any(map(is_value, row))]
    if len(bad) < _FEWEST_ROWS:
        return None
    where, row = bad[0]
    cell = next((cell for cell in row if cell), "")
    formulas = cell.startswith(_FORMULA)
    what = "a formula" if formulas else "no number"
    do = (
        "Open it in a spreadsheet program and export the values, not the formulas."
        if formulas
        else "Take those lines out, or export the log again with numbers in them."
    )
    lines_told = f"{'' if whole else 'at least '}{count(len(bad), 'line')}"
    return Fault(
        f"the header row in line {at + 1} is followed by {lines_told} with {what} in "
        f"every cell, as '{visible(cell[:_SHOWN])}'",
        file=file,
        place=f"from line {where + 1} on",
        expected="samples below the header row",
        do=do,
    )
