"""Where in the lines the header, the units and the samples stand."""

from collections.abc import Sequence
from enum import Enum

from tuneledger.logs.delimited.cells import is_missing
from tuneledger.logs.delimited.dialect import DELIMITERS, Cut, find_cut, is_value, split
from tuneledger.logs.delimited.names import plain_unit, split_name
from tuneledger.logs.delimited.timenames import time_likeness
from tuneledger.logs.delimited.unitlike import is_unit
from tuneledger.record import record

_HEADER_BLOCK = 12
_PREAMBLE = 12  # lines among which those of numbers may stand above a header
_FEWEST_SAMPLES = 0.6
_UNIT_SHARE = 0.6
_AS_FULL = 0.8
_LOOKED_AT = 60  # lines of samples that are enough to tell a log
_COMMENT = ("#", "//", "%", "*", ";")


class Unlike(Enum):
    """Why lines are no log in delimited text."""

    NOT_TEXT = "this is not text"
    NO_TABLE = "there is no table of numbers in it"
    NO_HEADER = "there is no header row with the names of the channels"
    NO_SAMPLES = "there is a header row but no samples"


@record
class Layout:
    """How the lines of a log are laid out. Lines are counted from 0.

    width:       cells in a row of samples, a last empty one after a trailing delimiter included;
                 at least as many as the header has names
    header:      the cells of the header row
    units:       the cells of the unit row, or None without one
    first:       the first line of samples
    rows:        rows of samples in the head, cut into cells, a few dozen
    quoted:      some cells stand in quotes
    """

    delimiter: str
    width: int
    header: tuple[str, ...]
    header_line: int
    units: tuple[str, ...] | None
    units_line: int | None
    first: int
    rows: tuple[tuple[str, ...], ...]
    quoted: bool


def find_layout(lines: Sequence[str]) -> Layout | Unlike:
    """Work out the layout of a log's first lines."""
    cut = find_cut(lines)
    if cut is None:
        return Unlike.NO_SAMPLES if _only_a_header(lines) else Unlike.NO_TABLE
    first = _first_sample(lines, cut)
    if first is None:
        return Unlike.NO_SAMPLES if _only_a_header(lines) else Unlike.NO_TABLE
    first = _below_a_preamble_of_numbers(lines, cut, first)
    below = [split(line, cut.delimiter) for line in _some(lines[first:])]
    samples = [row for row in below if cut.is_sample(row)]
    like = sum(map(cut.is_like_sample, below))
    if not samples or like < _FEWEST_SAMPLES * len(below):
        return Unlike.NO_TABLE
    block = _block_above(lines, first, cut)
    chosen = _choose_header(block)
    if chosen is None:
        return Unlike.NO_HEADER
    header_line, units_line = chosen
    at = dict(block)
    header = _without_comment_mark(at[header_line])
    if len(samples) < 2 and len(header) != cut.width:
        return Unlike.NO_TABLE
    return Layout(
        delimiter=cut.delimiter,
        width=max(cut.width, _named(header)),
        header=tuple(header),
        header_line=header_line,
        units=None if units_line is None else tuple(map(plain_unit, at[units_line])),
        units_line=units_line,
        first=first,
        rows=tuple(tuple(row) for row in samples),
        quoted=any(f'"{cut.delimiter}' in line or line.startswith('"') for line in lines[first:]),
    )


def _some(lines: Sequence[str]) -> list[str]:
    """Lines from the beginning, and as many spread over the rest, without empty ones."""
    half = _LOOKED_AT // 2
    filled = [line for line in lines if line.strip()]
    rest = filled[half:]
    return filled[:half] + rest[:: 1 + len(rest) // half]


def _first_sample(lines: Sequence[str], cut: Cut) -> int | None:
    """The first line from which on lines are samples, a stray one apart."""
    for i, line in enumerate(lines):
        if cut.is_like_sample(split(line, cut.delimiter)):
            ahead = [split(other, cut.delimiter) for other in lines[i : i + 12] if other.strip()]
            if sum(map(cut.is_like_sample, ahead)) >= 0.7 * len(ahead):
                return i
    return None


def _below_a_preamble_of_numbers(lines: Sequence[str], cut: Cut, first: int) -> int:
    """The first sample, where what looks like one is a line of a preamble (`1;2;3`).

    Such lines are few, no header stands above them, and one stands between them and the samples.
    """
    if _choose_header(_block_above(lines, first, cut)):
        return first
    for at in range(first, min(first + _PREAMBLE, len(lines))):
        below = _first_sample(lines[at + 1 :], cut)
        if below is not None and _choose_header(_block_above(lines, at + 1 + below, cut)):
            return at + 1 + below
    return first


def _block_above(lines: Sequence[str], first: int, cut: Cut) -> list[tuple[int, list[str]]]:
    """Lines above the samples that are wide enough to name or describe columns, top first."""
    block: list[tuple[int, list[str]]] = []
    for i in range(first - 1, max(-1, first - 1 - _HEADER_BLOCK), -1):
        if not lines[i].strip() and i > 0 and lines[i - 1].strip():
            continue  # one empty line; two end the block
        row = split(lines[i], cut.delimiter) if lines[i].strip() else []
        wide = len(row) >= max(2, 0.4 * cut.width)
        if wide and any(not is_missing(cell) for cell in row):
            block.append((i, row))
        elif block and not wide:
            break
    return block[::-1]


def _choose_header(block: Sequence[tuple[int, list[str]]]) -> tuple[int, int | None] | None:
    """(header line, unit line or None): the row that names most columns, and one of units."""
    named = {i: _names(row) for i, row in block}
    candidates = [i for i, row in block if named[i] >= 2 and _mostly_words(row)]
    if not candidates:
        return None
    units = next((i for i, row in reversed(block) if _is_unit_row(row)), None)
    others = [i for i in candidates if i != units]
    if units is not None and (not others or _fuller(block, units, others)):
        # Short names can look like units; the row that fills its columns is then the header.
        units = None
        others = candidates
    most = max(named[i] for i in others)
    at = dict(block)
    full = [i for i in others if named[i] >= _AS_FULL * most]
    # Of rows that name about as many, one that names a time is it, and the shorter of two such
    # (the other describes); else the lowest.
    timed = [i for i in full if _names_a_time(at[i])]
    if timed:
        return max(timed, key=lambda i: (named[i], -len("".join(at[i])), i)), units
    return max(full, key=lambda i: (named[i], i)), units


def _fuller(block: Sequence[tuple[int, list[str]]], units: int, others: Sequence[int]) -> bool:
    filled = {i: sum(bool(cell) for cell in row) for i, row in block}
    return max(filled[i] for i in others) < 0.7 * filled[units]


def _named(header: Sequence[str]) -> int:
    """Columns up to the last that has a name."""
    return max((i + 1 for i, cell in enumerate(header) if cell), default=0)


def _names(row: Sequence[str]) -> int:
    return len({cell.casefold() for cell in row if cell and not is_value(cell)})


def _names_a_time(row: Sequence[str]) -> bool:
    return any(time_likeness(split_name(cell)[0]) == 1.0 for cell in row if cell)


def _mostly_words(row: Sequence[str]) -> bool:
    filled = [cell for cell in row if cell]
    return sum(is_value(cell) for cell in filled) < 0.5 * len(filled)


def _is_unit_row(row: Sequence[str]) -> bool:
    filled = [unit for cell in row if (unit := plain_unit(cell))]
    return bool(filled) and sum(map(_unit_cell, filled)) >= _UNIT_SHARE * len(filled)


def _unit_cell(text: str) -> bool:
    return text == "1" or is_unit(text)


def _without_comment_mark(cells: Sequence[str]) -> list[str]:
    first = cells[0]
    for mark in _COMMENT:
        if first.startswith(mark) and len(first) > len(mark):
            first = first.removeprefix(mark).strip()
            break
    return [first, *cells[1:]]


def _only_a_header(lines: Sequence[str]) -> bool:
    """A short text whose last lines are cells without a number: a log that holds no sample yet."""
    filled = [line for line in lines if line.strip()]
    if not filled or len(filled) > 20:
        return False
    for line in filled[-2:]:
        for delimiter in DELIMITERS:
            cells = split(line, delimiter)
            words = [cell for cell in cells if cell and len(cell) <= 40]
            plain = not any(mark in line for mark in ("{", "<", " = ", ". ", "? ", "! "))
            if len(words) >= 2 and len(words) == len([c for c in cells if c]) and plain:
                return not any(is_value(cell) for cell in words)
    return False
