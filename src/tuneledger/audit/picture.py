"""The reach of every cell as a picture of characters: the map, and under it how far it can move."""

from collections.abc import Iterator

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.audit.phrases import reading_name, unit_of
from tuneledger.audit.sheet import Audited
from tuneledger.statement.paper import Line, Words, line
from tuneledger.wording import MINUS, number, unit_words

LABEL = 8
NARROWEST = 4
LEAST_DEG = 0.05


def picture(sheet: Audited, width: int) -> Iterator[Line]:
    """One row of cells for each point of the first axis, each as lowest…highest in whole degrees.

    Nothing where the map has not two axes or the screen is too narrow for it.
    """
    table = sheet.calibration.spark.map
    if len(table.axes) != 2:
        return
    rows, columns = table.axes
    cell = (width - LABEL) // len(columns.at)
    texts = _texts(sheet) if cell > NARROWEST else []
    if not texts or cell < max(len(t) for row in texts for t in row) + 1:
        return
    cell = min(cell, 10)
    unit = unit_words(unit_of(columns))
    yield line(
        Words(
            f"Reach by {reading_name(rows)} (down) and {reading_name(columns)} (across, {unit})",
            "faint",
        )
    )
    heads = "".join(number(at).rjust(cell) for at in columns.at)
    yield line(Words(f"{unit_words(unit_of(rows))}".ljust(LABEL) + heads, "faint"))
    for at, row, index in zip(rows.at, texts, range(len(rows.at)), strict=True):
        inks = [_ink(sheet, index, column) for column in range(len(columns.at))]
        cells = [Words(t.rjust(cell), ink) for t, ink in zip(row, inks, strict=True)]
        yield line(Words(number(at).ljust(LABEL), "faint"), *cells)
    yield line(
        Words(
            "lowest…highest that can be delivered, in degrees; * only the limit holds it", "faint"
        )
    )


def _texts(sheet: Audited) -> list[list[str]]:
    low, high = sheet.reach.lowest, sheet.reach.highest
    held = (np.abs(low.before - low.degrees) > LEAST_DEG) | (
        np.abs(high.before - high.degrees) > LEAST_DEG
    )
    blank = " " if held.any() else ""  # so that the numbers stand under one another
    return [
        [
            _text(low.degrees[r, c], high.degrees[r, c]) + ("*" if held[r, c] else blank)
            for c in range(low.degrees.shape[1])
        ]
        for r in range(low.degrees.shape[0])
    ]


def _text(low: float, high: float) -> str:
    if not np.isfinite(low):
        return "?"
    return _whole(low) if _whole(low) == _whole(high) else f"{_whole(low)}…{_whole(high)}"


def _whole(value: float) -> str:
    rounded = round(value)
    return f"{MINUS}{-rounded}" if rounded < 0 else f"{rounded}"


def _ink(sheet: Audited, row: int, column: int) -> str:
    """Orange where more than the map can be reached, else none: less can be reached everywhere."""
    over: FloatArray = sheet.reach.highest.degrees - sheet.reach.scheduled
    return "more" if over[row, column] > LEAST_DEG else ""
