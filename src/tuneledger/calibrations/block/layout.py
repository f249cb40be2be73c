"""From a matrix of cells to a block: titles set aside, axes found, turned so that both rise."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from tuneledger.calibrations.block.cells import Cell, is_figure
from tuneledger.calibrations.block.frame import Frame, Line, fault, framed
from tuneledger.calibrations.block.model import Block, Edge, Value
from tuneledger.calibrations.block.split import Matrix
from tuneledger.calibrations.block.words import last_unit, unit_of, units_in
from tuneledger.calibrations.cells import UNKNOWN_CELL
from tuneledger.calibrations.tree import plain
from tuneledger.wording import count, listing

_NAMED = 5  # lines
CORNERS = (("top", "left"), ("top", "right"), ("bottom", "left"), ("bottom", "right"))


def lay_out(matrix: Matrix, shape: tuple[int, ...] | None, why_missing: str = "") -> Block:
    """The block that a matrix holds.

    shape: of the table that is there already, which tells values without axes from axes with
           values and a table of one axis from one of two; None where there is none
    why_missing: what may keep a cell empty, a sentence that is said where one is

    Raises SheetError with the line and what is wrong there.
    """
    frame = framed(matrix)
    block = _block_in(frame, shape)
    lost = sum(row.count(UNKNOWN_CELL) for row in block.values)
    if not lost:
        return block
    lines = _lines_with_gaps(frame)
    told = f" (line {lines[0]})" if len(lines) == 1 else f" (lines {listing(lines)})"
    note = (
        f"{count(lost, 'value')} {'is' if lost == 1 else 'are'} missing{told if lines else ''}: "
        f"{UNKNOWN_CELL} stands there. {why_missing}"
    ).rstrip()
    return replace(block, notes=(*block.notes, note))


def _lines_with_gaps(frame: Frame) -> list[str]:
    numbered = zip(frame.numbers[1:], frame.cells[1:], strict=True)
    lines = [str(n) for n, row in numbered if not all(map(is_figure, row))]
    return lines if len(lines) <= _NAMED else [*lines[:_NAMED], f"{len(lines) - _NAMED} more"]


def _block_in(frame: Frame, shape: tuple[int, ...] | None) -> Block:
    height, width = len(frame.cells), len(frame.cells[0])
    one_axis = shape is not None and len(shape) == 1
    if 1 in (height, width) or _only_values(frame, shape):
        return _values_only(frame)
    if 2 in (height, width) and (one_axis or (shape is None and not _has_corner(frame))):
        return _one_axis(frame)
    return _two_axes(frame)


def _only_values(frame: Frame, shape: tuple[int, ...] | None) -> bool:
    size = (len(frame.cells), len(frame.cells[0]))
    fits = shape is not None and len(shape) == 2 and size in (shape, shape[::-1])
    return fits and not (_has_corner(frame) and _axes_run(frame.cells))


def _has_corner(frame: Frame) -> bool:
    """Whether the cell at the top left is one that two axes leave over."""
    return not isinstance(frame.cells[0][0], float)


def _values_only(frame: Frame) -> Block:
    cells = frame.cells
    if len(cells[0]) == 1:
        cells = (tuple(row[0] for row in cells),)
    return Block(None, None, _values(cells, frame))


def _one_axis(frame: Frame) -> Block:
    """Two lines or two columns: points, and a value for each."""
    lines = frame.cells
    along_line = len(lines) == 2 and (len(lines[0]) != 2 or _runs_along_the_line(frame))
    units: Sequence[str] = frame.units[0]
    if not along_line:
        lines = tuple(zip(*frame.cells, strict=True))
        units = [row[0] for row in frame.units]
    words = f"{frame.above} {frame.beside}".strip()
    points = _points(lines[0], frame.numbers[0], "the axis")
    edge = Edge(points, words, last_unit(units) or unit_of(words))
    block = Block(None, edge, _values((lines[1],), frame))
    return _rising(block)


def _runs_along_the_line(frame: Frame) -> bool:
    """Which way an axis of two points runs: words or units beside it tell, else that it rises."""
    for side, top in ((frame.beside, frame.above), (all(frame.units[0]), frame.units[1][0])):
        if bool(side) != bool(top):
            return bool(side)
    (first, second), (third, _) = frame.cells
    points = [cell for cell in (first, second, third) if isinstance(cell, float)]
    if len(points) == 3 and (points[1] > points[0]) != (points[2] > points[0]):
        return points[1] > points[0]
    raise fault(
        frame.numbers[0],
        "two points, of which the axis may run along the line or down the column",
        do="Write a word before each line, or above the columns.",
    )


def _two_axes(frame: Frame) -> Block:
    """The axes stand along two edges that meet in a corner; usually at the top left."""
    tried = [_cornered(frame, *corner) for corner in CORNERS]
    clear = [cells for cells in tried if not isinstance(cells[0][0], float) and _axes_run(cells)]
    cells = next(iter(clear), None) or (tried[0] if _axes_run(tried[0]) else None)
    if cells is None:
        cells = tried[0]
        _points(cells[0][1:], frame.numbers[0], "the axis above the columns")
        _points([row[0] for row in cells[1:]], frame.numbers[-1], "the axis before the rows")
    units = _cornered(replace(frame, cells=frame.units), *CORNERS[tried.index(cells)])
    corner = cells[0][0] if isinstance(cells[0][0], str) else ""
    across_unit = last_unit([str(unit) for unit in units[0][1:]]) or unit_of(frame.above)
    down_unit = last_unit([str(row[0]) for row in units[1:]]) or unit_of(frame.beside)
    across = _points(cells[0][1:], frame.numbers[0], "the axis above the columns")
    down = _points([row[0] for row in cells[1:]], frame.numbers[-1], "the axis before the rows")
    block = Block(
        Edge(down, frame.beside, down_unit),
        Edge(across, frame.above, across_unit),
        _values(tuple(row[1:] for row in cells[1:]), frame),
        units_in(corner),
    )
    return _rising(block)


def _cornered(frame: Frame, upright: str, level: str) -> tuple[Line, ...]:
    """The cells with the given corner brought to the top left, the order of values kept."""
    cells = frame.cells
    if upright == "bottom":
        cells = (cells[-1], *cells[:-1])
    if level == "right":
        cells = tuple((row[-1], *row[:-1]) for row in cells)
    return cells


def _axes_run(cells: tuple[Line, ...]) -> bool:
    return _strictly(cells[0][1:]) and _strictly([row[0] for row in cells[1:]])


def _strictly(cells: Sequence[Cell]) -> bool:
    """All numbers, each above the one before, or each below."""
    points = [cell for cell in cells if isinstance(cell, float) and is_figure(cell)]
    if len(points) != len(cells):
        return False
    steps = [after - before for before, after in pairwise(points)]
    return all(step > 0 for step in steps) or all(step < 0 for step in steps)


def _points(cells: Sequence[Cell], line: int, what: str) -> tuple[float, ...]:
    for cell in cells:
        if not is_figure(cell):
            shown = f'"{cell}"' if isinstance(cell, str) else "nothing"
            raise fault(line, f"{shown} in {what}", "a number")
    points = tuple(cell for cell in cells if isinstance(cell, float))
    if not _strictly(points):
        falls = len(points) > 1 and points[1] < points[0]
        pairs = [(a, b) for a, b in pairwise(points) if (b >= a if falls else b <= a)]
        before, after = pairs[0]
        way = "fall below" if falls else "rise above"
        raise fault(line, f"{what}: {plain(after)} does not {way} {plain(before)}")
    return points


def _values(cells: tuple[Line, ...], frame: Frame) -> tuple[tuple[Value, ...], ...]:
    for row in cells:
        for cell in row:
            if isinstance(cell, str):
                found = f'"{cell}" among the values'
                raise fault(_line_of(cell, frame), found, f"a number, or {UNKNOWN_CELL}")
    return tuple(
        tuple(cell if isinstance(cell, float) and is_figure(cell) else UNKNOWN_CELL for cell in row)
        for row in cells
    )


def _line_of(word: str, frame: Frame) -> int:
    return next(n for n, row in zip(frame.numbers, frame.cells, strict=True) if word in row)


def _rising(block: Block) -> Block:
    """The same table with axes that fall turned round, values with them."""
    down, across, values = block.down, block.across, block.values
    notes = []
    if down is not None and _falls(down):
        notes.append(_turned(down))
        down, values = replace(down, points=down.points[::-1]), values[::-1]
    if across is not None and _falls(across):
        notes.append(_turned(across))
        across = replace(across, points=across.points[::-1])
        values = tuple(row[::-1] for row in values)
    return replace(block, down=down, across=across, values=values, notes=(*block.notes, *notes))


def _falls(edge: Edge) -> bool:
    return len(edge.points) > 1 and edge.points[1] < edge.points[0]


def _turned(edge: Edge) -> str:
    first, last = plain(edge.points[0]), plain(edge.points[-1])
    return f"The axis from {first} to {last} falls; it was turned round with its values."
