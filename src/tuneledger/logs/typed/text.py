"""Cells of text, none longer than a number, a clock time or a switch can be.

A file holds a long text once, and a column of it says twenty thousand times "that one": each cell
takes some bytes, until something is done with the text of all. So long ones go before that.
"""

import polars as pl

from tuneledger.bounded import IN_PLACE_OF_LONG_TEXT, LONGEST_TEXT


def is_text(kind: pl.DataType) -> bool:
    """Whether cells of that type are text, by themselves or by their number in a list of words."""
    return kind == pl.String or isinstance(kind, pl.Categorical | pl.Enum)


def as_text(cells: pl.Series) -> pl.Series:
    """Cells of text, with a phrase in place of each that is too long to say anything."""
    if cells.dtype == pl.String:
        return _shortened(cells)
    distinct = cells.drop_nulls().unique()
    return cells.to_physical().replace_strict(
        distinct.to_physical(),
        _shortened(distinct.cast(pl.String)),
        default=None,
        return_dtype=pl.String,
    )


def _shortened(cells: pl.Series) -> pl.Series:
    long = cells.str.len_bytes() > LONGEST_TEXT
    if not long.any():
        return cells
    return pl.select(pl.when(long).then(pl.lit(IN_PLACE_OF_LONG_TEXT)).otherwise(cells)).to_series()
