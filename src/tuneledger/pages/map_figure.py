"""The map and its visits as a picture: in each cell the mean difference and how long."""

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.pages.names import name_of
from tuneledger.pages.picture import WIDTH, Key, caption, part, put, title
from tuneledger.pages.tag import Markup, tag
from tuneledger.pages.visits import Grid, Side
from tuneledger.statement.model import Statement
from tuneledger.wording import degrees, listing, number, seconds, unit_words

_LEFT, _TOP, _CELL_HIGH = 76, 44, 50
_LEAST_FULL = 2.0  # degrees for which the deepest shade stands at least
_FULL = 0.62


def map_figure(statement: Statement, cells: Grid) -> list[Markup]:
    """The parts of the picture, one under another."""
    rows, columns = cells.rows.at.size, cells.columns.at.size
    mean, stay = _visits(statement, cells)
    wide = (WIDTH - _LEFT - 12) / columns
    largest = max(_LEAST_FULL, float(np.nanmax(np.abs(mean), initial=0.0)))
    boxes = [
        _cell(cells, mean, stay, (r, c), (_LEFT + c * wide, _TOP + r * _CELL_HIGH, wide), largest)
        for r in range(rows)
        for c in range(columns)
    ]
    across = [
        put(number(at), _LEFT + (c + 0.5) * wide, _TOP - 8, "soft", "middle")
        for c, at in enumerate(cells.columns.at.tolist())
    ]
    down = [
        put(number(at), _LEFT - 8, _TOP + (r + 0.5) * _CELL_HIGH + 4, "soft", "end")
        for r, at in enumerate(cells.rows.at.tolist())
        if cells.rows.name
    ]
    names = [put(_named(cells.columns), _LEFT + columns * wide / 2, _TOP - 28, "soft", "middle")]
    if cells.rows.name:
        names.append(put(f"{_named(cells.rows)} ↓", 8, _TOP - 28, "soft"))
    logs = listing(name_of(account.log.file) for account in statement.logs)
    keys = [
        Key("delivered below scheduled", ("takes",)),
        Key("above", ("adds",)),
        Key("in each cell: the map's degrees, the mean difference, how long the run was there", ()),
    ]
    return [
        title(f"{cells.says} Where delivered differs from scheduled.", logs),
        caption("Mean difference", keys),
        part(_TOP + rows * _CELL_HIGH + 12, *names, *across, *down, *boxes),
    ]


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
        put(number(asked) if np.isfinite(asked) else "", x + 5, y + 14, "soft small"),
        put(degrees(apart) if known else "", middle, y + 31, "named", "middle"),
        put(seconds(float(stay[at])) if stay[at] > 0 else "", middle, y + 45, "small", "middle"),
    )
