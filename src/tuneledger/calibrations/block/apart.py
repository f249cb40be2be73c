"""Where several blocks stand on one worksheet: what empty rows and empty columns part."""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from tuneledger.workbooks import area

_MOST_TRIED = 500  # a stranger's worksheet may hold millions of cells, each by itself
_Item = TypeVar("_Item")
_Rows = list[tuple[int, list[str]]]  # the number of each, from 0, and its cells


def areas(text: str, corner: tuple[int, int], is_block: Callable[[str], bool]) -> Iterator[str]:
    """The areas of cells, as `A1:D5`, that hold a block: below each other, and side by side.

    text:   cells parted by tabs, a line for each row; corner: where it begins, counted from 0

    Only the first five hundred areas are tried.
    """
    tried = 0
    rows = [(number, row.split("\t")) for number, row in enumerate(text.split("\n"))]
    for part in _runs(rows, [bool("".join(cells).strip()) for _, cells in rows]):
        wide = max(len(cells) for _, cells in part)
        filled = [any(len(c) > n and c[n].strip() for _, c in part) for n in range(wide)]
        columns = list(range(wide))
        runs = _runs(columns, filled)
        if len(runs) > 1 and is_block(_text(part, columns)):
            runs = [columns[runs[0][0] : runs[-1][-1] + 1]]
        for run in runs:
            tried += 1
            if tried > _MOST_TRIED:
                return
            if is_block(_text(part, run)):
                first, last = part[0][0] + corner[0], part[-1][0] + corner[0]
                yield area(first, run[0] + corner[1], last, run[-1] + corner[1])


def _runs(items: Sequence[_Item], filled: Sequence[bool]) -> list[list[_Item]]:
    """What follows one another without a gap."""
    found: list[list[_Item]] = [[]]
    for item, is_filled in zip(items, filled, strict=True):
        if is_filled:
            found[-1].append(item)
        elif found[-1]:
            found.append([])
    return [run for run in found if run]


def _text(rows: _Rows, columns: Sequence[int]) -> str:
    span = slice(columns[0], columns[-1] + 1)
    return "".join("\t".join(cells[span]) + "\n" for _, cells in rows)
