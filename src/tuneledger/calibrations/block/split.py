"""From text to a matrix of cells: which sign parts them, and how numbers are written.

Every way of reading is tried, and ranked by how little is left that is no number. A decimal comma
inside a block that commas part is told apart by that: one of the two readings leaves rubbish.
"""

import csv
import re
from collections.abc import Iterator

from tuneledger.calibrations.block.cells import Cell, Spelling, is_figure, read_cell
from tuneledger.record import record

csv.field_size_limit(2**31 - 1)  # what is pasted may be anything

SPELLINGS = (Spelling("."), Spelling(","), Spelling(".", True), Spelling(",", True))
PARTED_BY = {"\t": "tabs", ";": "semicolons", ",": "commas", " ": "spaces"}


@record
class Matrix:
    """Cells line by line as they stand, lines perhaps of different length.

    units:    the units behind the numbers, cell by cell, "" where there is none
    numbers:  line numbers in the text, from 1
    parted_by, spelling: how the text was read
    """

    cells: tuple[tuple[Cell, ...], ...]
    units: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...]
    parted_by: str
    spelling: Spelling

    @property
    def words(self) -> int:
        """How many cells are neither numbers nor missing."""
        return sum(isinstance(cell, str) for line in self.cells for cell in line)

    @property
    def figures(self) -> int:
        """How many cells are numbers."""
        return sum(is_figure(cell) for line in self.cells for cell in line)


def matrices(text: str) -> list[Matrix]:
    """Every way of reading a block that finds numbers, the likeliest first."""
    lines = [(n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    found = [matrix for matrix in _all(lines) if matrix.figures]
    return sorted(found, key=lambda matrix: (_rubbish(matrix), _oddness(matrix, text)))


def _rubbish(matrix: Matrix) -> tuple[int, int, int]:
    """Fewest words, then most numbers, then lines of one length."""
    return matrix.words, -matrix.figures, len({len(line) for line in matrix.cells})


def _oddness(matrix: Matrix, text: str) -> int:
    """How unusual a spelling is where the numbers themselves do not tell."""
    if matrix.spelling == Spelling(",") and _commas_part_thousands(text):
        return 4
    return SPELLINGS.index(matrix.spelling)


def _commas_part_thousands(text: str) -> bool:
    """500 and 1,000 side by side: with a fixed number of decimals 500 would have some too."""
    runs = (run.rstrip(".,") for run in re.findall(r"[\d.,]++", text))
    numbers = [run for run in runs if run]
    parted = [number for number in numbers if "," in number]
    grouped = all(re.fullmatch(r"[1-9]\d{0,2}(,\d{3})+(\.\d+)?", number) for number in parted)
    return grouped and len(parted) < len(numbers)


def _all(lines: list[tuple[int, str]]) -> Iterator[Matrix]:
    for sign, parted_by in PARTED_BY.items():
        if sign != " " and not any(sign in line for _, line in lines):
            continue
        parts = [_parted(line, sign) for _, line in lines]
        for spelling in SPELLINGS:
            read = [[read_cell(part, spelling) for part in line] for line in parts]
            yield Matrix(
                cells=tuple(tuple(cell for cell, _ in line) for line in read),
                units=tuple(tuple(unit for _, unit in line) for line in read),
                numbers=tuple(n for n, _ in lines),
                parted_by=parted_by,
                spelling=spelling,
            )


def _parted(line: str, sign: str) -> list[str]:
    if sign == " ":
        return _spaced(line.split())
    return next(csv.reader([line.rstrip("\r\n")], delimiter=sign, skipinitialspace=True), [])


def _spaced(parts: list[str]) -> list[str]:
    """Words before the first number are one cell: spaces part words as well as cells."""
    words = next((i for i, part in enumerate(parts) if _is_number(part)), len(parts))
    return [" ".join(parts[:words]), *parts[words:]] if words > 1 else parts


def _is_number(part: str) -> bool:
    readings = [read_cell(part, spelling)[0] for spelling in SPELLINGS]
    return any(not isinstance(cell, str) for cell in readings)
