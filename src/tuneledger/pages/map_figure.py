"""The map and its visits as a picture: in each cell the mean difference and how long."""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.pages.names import name_of
from tuneledger.pages.tag import Markup, tag
from tuneledger.pages.visits import Grid, Side
from tuneledger.statement.model import Statement
from tuneledger.wording import degrees, number, seconds, unit_words

_LEFT, _TOP, _CELL_HIGH = 70, 66, 46
_LEAST_FULL = 2.0  # degrees for which the deepest shade stands at least
_FULL = 0.62


def map_figure(statement: Statement, cells: Grid, width: int) -> list[Markup]:
    """The parts of the picture, one under another."""
    rows, columns = cells.rows.at.size, cells.columns.at.size
    mean, stay = _visits(statement, cells)
    wide = (width - _LEFT - 10) / columns
    largest = max(_LEAST_FULL, float(np.nanmax(np.abs(mean), initial=0.0)))
    boxes = [
        _cell(cells, mean, stay, (r, c), (_LEFT + c * wide, _TOP + r * _CELL_HIGH, wide), largest)
        for r in range(rows)
        for c in range(columns)
    ]
    heads = [
        _text(number(at), _LEFT + (c + 0.5) * wide, _TOP - 8, "soft middle")
        for c, at in enumerate(cells.columns.at.tolist())
    ]
    sides = [
        _text(
            number(at) if cells.rows.name else "",
            _LEFT - 8,
            _TOP + (r + 0.55) * _CELL_HIGH,
            "soft",
            "end",
        )
        for r, at in enumerate(cells.rows.at.tolist())
    ]
    title = _text(f"{cells.says} Mean difference of delivered from scheduled.", 8, 18, "strong")
    names = _text(f"↓ {_named(cells.rows)}    → {_named(cells.columns)}", 8, 38, "soft")
    height = _TOP + rows * _CELL_HIGH + 8
    return [tag("svg", title, names, *heads, *sides, *boxes, height=f"{height}")]


def _named(side: Side) -> str:
    return f"{name_of(side.name)}, {unit_words(side.unit)}" if side.unit else name_of(side.name)


def _visits(statement: Statement, cells: Grid) -> tuple[FloatArray, FloatArray]:
    """Mean difference and seconds per cell, over all logs; NaN and 0 where nobody was."""
    size = cells.values.size
    total, seen, stay = np.zeros(size), np.zeros(size), np.zeros(size)
    for index, books in zip(cells.cells, statement.logs, strict=True):
        ledger = books.ledger
        if index is None or ledger is None:
            continue
        here = np.isfinite(index)
        stay += np.bincount(index[here].astype(np.int64), minlength=size) * ledger.row_s
        judged = here & ledger.own & ~ledger.void & np.isfinite(ledger.difference)
        where = index[judged].astype(np.int64)
        total += np.bincount(where, ledger.difference[judged], size)
        seen += np.bincount(where, minlength=size)
    with np.errstate(invalid="ignore"):
        return (total / seen).reshape(cells.values.shape), stay.reshape(cells.values.shape)


def _cell(
    cells: Grid,
    mean: FloatArray,
    stay: FloatArray,
    at: tuple[int, int],
    box: tuple[float, float, float],
    largest: float,
) -> Markup:
    (x, y, wide), apart = box, float(mean[at])
    known = bool(np.isfinite(apart))
    shade = _FULL * min(1.0, abs(apart) / largest) if known else 0.0
    colour = "#b3540c" if known and apart > 0 else "#1c62a6"
    corner = {"x": f"{x:.1f}", "y": f"{y:.1f}", "width": f"{wide:.1f}", "height": f"{_CELL_HIGH}"}
    asked = float(cells.values[at])
    middle = x + wide / 2
    return tag(
        "g",
        tag("rect", **corner, fill=colour, fill_opacity=f"{shade:.2f}", cls="cell"),
        _text(number(asked) if np.isfinite(asked) else "", x + 4, y + 12, "soft"),
        _text(degrees(apart) if known else "", middle, y + 27, "strong middle"),
        _text(seconds(float(stay[at])) if stay[at] > 0 else "", middle, y + 41, "middle"),
    )


def _text(text: str, x: float, y: float, cls: str, anchor: str | None = None) -> Markup:
    return tag("text", text, x=f"{x:.1f}", y=f"{y:.1f}", text_anchor=anchor, cls=cls)
