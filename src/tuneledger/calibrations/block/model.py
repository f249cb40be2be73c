"""What a pasted block comes to: values, and the axes that stand along their edges."""

from typing import TypeAlias

from tuneledger.record import record

Value: TypeAlias = float | str  # a number of degrees, or "?"


@record
class Edge:
    """One axis of a block: rising points, and the words and the unit found beside them."""

    points: tuple[float, ...]
    words: str = ""
    unit: str | None = None


@record
class Block:
    """A table as it was pasted, turned so that both axes rise.

    down:   the axis whose points stand before the rows; None where a block has one axis or none
    across: the axis whose points stand above the columns; the only one of a block with one axis
    values: row by row; one row where `down` is None
    units:  units named where it does not show which axis they belong to (in the corner)
    notes:  sentences on how the text was read
    """

    down: Edge | None
    across: Edge | None
    values: tuple[tuple[Value, ...], ...]
    units: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def turned(self) -> "Block":
        """The same block with rows and columns changing places."""
        values = tuple(zip(*self.values, strict=True))
        return Block(self.across, self.down, values, self.units, self.notes)


@record
class OnWorksheet:
    """The worksheet that a block's text is from, and its workbook's formulas without a value."""

    name: str
    formulas_without_values: int = 0


@record
class BlockText:
    """A block as text, and what is to be said of where it stood.

    worksheet: where in a workbook it stood; None of text
    """

    text: str
    notes: tuple[str, ...] = ()
    worksheet: OnWorksheet | None = None
