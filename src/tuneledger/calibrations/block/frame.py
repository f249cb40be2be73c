"""The rectangle of numbers inside a block, with the titles and labels around it set aside."""

from collections.abc import Sequence

from tuneledger.calibrations.block.cells import Cell, is_figure
from tuneledger.calibrations.block.split import Matrix
from tuneledger.calibrations.cells import UNKNOWN_CELL
from tuneledger.errors import Fault, SheetError
from tuneledger.record import record
from tuneledger.wording import count

Line = tuple[Cell, ...]


@record
class Frame:
    """The cells that hold numbers, as a rectangle, and the words around them.

    units:         the unit behind each number, "" where there is none
    numbers:       line numbers in the text
    above, beside: words of lines and of columns without numbers
    """

    cells: tuple[Line, ...]
    units: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...]
    above: str
    beside: str


def framed(matrix: Matrix) -> Frame:
    """Titles, and columns without a number, set aside as words; the rest must be a rectangle."""
    figures = sorted(_figures(cells) for cells in matrix.cells)
    usual = figures[len(figures) // 2]
    titles = [_is_title(cells, usual) for cells in matrix.cells]
    lines = zip(matrix.cells, matrix.units, matrix.numbers, titles, strict=True)
    rows = _same_length([(list(cells), list(units), n) for cells, units, n, t in lines if not t])
    columns = list(zip(*(cells for cells, _, _ in rows), strict=True))
    full = dict.fromkeys(index for index, column in enumerate(columns) if _figures(column))
    titled = zip(matrix.cells, titles, strict=True)
    return Frame(
        cells=tuple(tuple(cells[i] for i in full) for cells, _, _ in rows),
        units=tuple(tuple(units[i] for i in full) for _, units, _ in rows),
        numbers=tuple(n for _, _, n in rows),
        above=_words([cell for cells, title in titled if title for cell in cells]),
        beside=_words(
            [cell for i, column in enumerate(columns) if i not in full for cell in column]
        ),
    )


def _is_title(cells: Line, usual: int) -> bool:
    """A line without numbers, or with words and few numbers beside the usual line."""
    return not _figures(cells) or (bool(_words(cells)) and 2 * _figures(cells) < usual)


_Row = tuple[list[Cell], list[str], int]


def _same_length(rows: list[_Row]) -> list[_Row]:
    """Rows of one length: what stands behind the last number goes, a first corner may be absent."""
    longest = max(_filled(cells) for cells, _, _ in rows[1:] or rows)
    first, units, number = rows[0]
    if len(first) == _figures(first) == longest - 1:
        rows = [([None, *first], ["", *units], number), *rows[1:]]
    longest = max(_filled(cells) for cells, _, _ in rows)
    for cells, _, at in rows:
        if len(cells) < longest:
            found = f"{count(len(cells), 'cell')}, where other lines have {longest}"
            raise fault(at, found, do=f"Write {UNKNOWN_CELL} for a value that is missing.")
    return [(cells[:longest], behind[:longest], at) for cells, behind, at in rows]


def _filled(cells: Sequence[Cell]) -> int:
    """How far the values of a line reach, known or marked as missing."""
    return max((i + 1 for i, cell in enumerate(cells) if isinstance(cell, float)), default=0)


def _figures(cells: Sequence[Cell]) -> int:
    return sum(is_figure(cell) for cell in cells)


def _words(cells: Sequence[Cell]) -> str:
    return " ".join(cell for cell in cells if isinstance(cell, str))


def fault(line: int, found: str, expected: str | None = None, do: str | None = None) -> SheetError:
    """What is wrong in a block of numbers, with the line, counted from 1, on which it stands."""
    return SheetError(Fault(found, place=f"line {line}", expected=expected, do=do))
