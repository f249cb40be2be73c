"""How a file of delimited text is to be read, from its first lines alone.

Nothing here or in `body` needs numpy: a big file is on its way before that is imported.
"""

from dataclasses import replace
from functools import lru_cache

from tuneledger.bounded import how_to_raise
from tuneledger.errors import Fault, LogError
from tuneledger.logs.delimited.clock import is_clock
from tuneledger.logs.delimited.dialect import DELIMITERS, may_be_samples
from tuneledger.logs.delimited.layout import Layout, Unlike, find_layout
from tuneledger.logs.delimited.styles import Decimal, file_decimal
from tuneledger.logs.delimited.text import Text, read_text
from tuneledger.logs.limits import Limits, current
from tuneledger.logs.source import Source
from tuneledger.record import record
from tuneledger.wording import count


@record
class Plan:
    """How a file is to be read: its text and its layout."""

    text: Text
    layout: Layout


@lru_cache(maxsize=1)
def plan(source: Source) -> Plan | Unlike:
    """Look at the head of a file. `Unlike` says why it is no log in delimited text."""
    text = text_of(source)
    if text is None:
        return Unlike.NOT_TEXT
    layout = find_layout(text.lines)
    return layout if isinstance(layout, Unlike) else Plan(text, layout)


@lru_cache(maxsize=1)
def text_of(source: Source) -> Text | None:
    """The head of a file as text, kept for whoever asks next; None where it is not text."""
    return read_text(source)


def too_wide(source: Source, limits: Limits | None = None) -> Fault | None:
    """A table of more columns than allowed, told by its first two lines before they are looked at.

    Looking at what the cells of so many columns are takes seconds.
    limits: those that hold now, where none are given
    """
    limits = limits or current()
    if len(source.head) < limits.columns or (text := text_of(source)) is None:
        return None
    first = [line for line in text.lines if line.strip()][:2]
    if len(first) < 2 or not may_be_samples(first[1]):
        return None
    for delimiter in DELIMITERS:
        width, below = (line.count(delimiter) + 1 for line in first)
        if width == below and width > limits.columns:
            return _width_fault(width, limits)
    return None


def check(source: Source, how: Plan, limits: Limits) -> None:
    """LogError where the first lines show that the log cannot be used."""
    raise_if(_too_wide(how.layout, limits), source)
    raise_if(columns_fault(how.layout), source)


def raise_if(fault: Fault | None, source: Source) -> None:
    """LogError of a fault, if there is one, with the file's name."""
    if fault is not None:
        raise LogError(replace(fault, file=source.name))


def _too_wide(layout: Layout, limits: Limits) -> Fault | None:
    return None if layout.width <= limits.columns else _width_fault(layout.width, limits)


def _width_fault(width: int, limits: Limits) -> Fault:
    return Fault(
        f"it has {count(width, 'column')}",
        expected=f"at most {limits.columns}",
        do=how_to_raise(),
    )


def columns_fault(layout: Layout) -> Fault | None:
    """Rows with more cells than there are names, but for an empty one behind the last delimiter."""
    named = max((i + 1 for i, cell in enumerate(layout.header) if cell), default=0)
    if any(cell for row in layout.rows for cell in row[named : layout.width]):
        return _fault_width(layout, named)
    return None


def _fault_width(layout: Layout, named: int) -> Fault:
    halves = layout.delimiter == "," and layout.width > 1.4 * named
    do = (
        "If the numbers have decimal commas, export with semicolons between the cells."
        if halves
        else "Export it again with one name for every column."
    )
    return Fault(
        f"the header has {count(named, 'name')}, the rows below it {layout.width} cells",
        place=f"line {layout.header_line + 1}",
        expected="one name for every column",
        do=do,
    )


def decimal_mark(source: Source, layout: Layout) -> Decimal:
    """The file's decimal mark. LogError where nothing in it tells."""
    if layout.delimiter == "," and not layout.quoted:
        return Decimal.POINT
    columns = [
        [row[i] for row in layout.rows[::2] if i < len(row) and not is_clock(row[i])]
        for i in range(layout.width)
    ]
    decimal = file_decimal(columns)
    if decimal is Decimal.OPEN:
        shown = next(c for cells in columns for c in cells if "," in c)
        fault = Fault(
            f"nothing tells whether '{shown}' is little more than {shown.split(',')[0]}, "
            "or a thousand and more",
            expected="decimals in some cell, or no separators between thousands",
            do="Export it again without separators between thousands.",
        )
        raise_if(fault, source)
    return decimal
