"""A block of numbers, pasted or piped, read as a table with its axes."""

from dataclasses import replace

from tuneledger.calibrations.block.layout import lay_out
from tuneledger.calibrations.block.model import Block, Edge, OnWorksheet, Value
from tuneledger.calibrations.block.split import Matrix, matrices
from tuneledger.calibrations.tree import quoted
from tuneledger.errors import Fault, SheetError
from tuneledger.wording import count

__all__ = ["Block", "Edge", "OnWorksheet", "Value", "read_block"]


def read_block(
    text: str,
    file: str,
    shape: tuple[int, ...] | None = None,
    worksheet: OnWorksheet | None = None,
) -> Block:
    """The table in a text.

    Cells are parted by tabs, semicolons, commas or spaces; decimals have a point or a comma; the
    axes stand along two edges in any corner, rise or fall, may carry units, and the corner may
    hold words. A missing cell becomes "?". Values without axes are read where they have the shape
    of the table that they replace.

    file:      named in faults
    shape:     of the table that stands in the place now, if any
    worksheet: where the text stood, if it is out of a workbook

    Raises SheetError with the line and what is wrong there.
    """
    faults: list[Fault] = []
    for matrix in matrices(text):
        try:
            block = lay_out(matrix, shape, _why_missing(worksheet))
        except SheetError as error:
            faults += error.faults
        else:
            return replace(block, notes=(_how(matrix, worksheet), *block.notes))
    if not faults:
        faults = [Fault("no numbers", expected="a table with its axes")]
    raise SheetError(replace(faults[0], file=file))


def _why_missing(worksheet: OnWorksheet | None) -> str:
    lost = worksheet.formulas_without_values if worksheet else 0
    if not lost:
        return "Of merged cells only the first holds a number."
    return (
        f"{count(lost, 'formula')} in the workbook {'has' if lost == 1 else 'have'} no stored "
        "value; open it in a spreadsheet program, save it there, and hand it over again."
    )


def _how(matrix: Matrix, worksheet: OnWorksheet | None) -> str:
    decimal = "a decimal comma" if matrix.spelling.decimal == "," else "a decimal point"
    thousands = ", thousands set apart" if matrix.spelling.grouped else ""
    if worksheet is not None:
        parted = f", parted by {matrix.parted_by}" if matrix.parted_by != "tabs" else ""
        decimal = f", with {decimal}" if matrix.spelling.decimal == "," else ""
        where = f"the cells of worksheet {quoted(worksheet.name)}"
        return f"Read from {where}{parted}{decimal}{thousands}."
    return f"Read with cells parted by {matrix.parted_by} and {decimal}{thousands}."
