"""A block of numbers, pasted or piped, read as a table with its axes."""

from dataclasses import replace

from tuneledger.calibrations.block.layout import lay_out
from tuneledger.calibrations.block.model import Block, Edge, Value
from tuneledger.calibrations.block.split import Matrix, matrices
from tuneledger.errors import Fault, SheetError

__all__ = ["Block", "Edge", "Value", "read_block"]


def read_block(text: str, file: str, shape: tuple[int, ...] | None = None) -> Block:
    """The table in a text.

    Cells are parted by tabs, semicolons, commas or spaces; decimals have a point or a comma; the
    axes stand along two edges in any corner, rise or fall, may carry units, and the corner may
    hold words. A missing cell becomes "?". Values without axes are read where they have the shape
    of the table that they replace.

    file:  named in faults
    shape: of the table that stands in the place now, if any

    Raises SheetError with the line and what is wrong there.
    """
    faults: list[Fault] = []
    for matrix in matrices(text):
        try:
            block = lay_out(matrix, shape)
        except SheetError as error:
            faults += error.faults
        else:
            return replace(block, notes=(_how(matrix), *block.notes))
    if not faults:
        faults = [Fault("no numbers", expected="a table with its axes")]
    raise SheetError(replace(faults[0], file=file))


def _how(matrix: Matrix) -> str:
    decimal = "a decimal comma" if matrix.spelling.decimal == "," else "a decimal point"
    thousands = ", thousands set apart" if matrix.spelling.grouped else ""
    return f"Read with cells parted by {matrix.parted_by} and {decimal}{thousands}."
