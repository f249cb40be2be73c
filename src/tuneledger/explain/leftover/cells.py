"""Corrections with cells that nobody knows ("?"): what the log shows where the car drove there.

The sheet says that such a correction acts, and not how much. The missing numbers are fitted to what
is left over; where they make the balance come out wherever the correction acts through them, it is
named, with the numbers. It stays a suspicion: whatever else acted just there would look the same.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.calibrations.model import Correction
from tuneledger.evaluate.model import Contribution
from tuneledger.evaluate.readings import read
from tuneledger.explain.account import Account
from tuneledger.explain.cost import residual_cost
from tuneledger.explain.leftover.model import SUSPECTED, Extra
from tuneledger.explain.leftover.othermap import PER_CELL, corners
from tuneledger.explain.model import Cell, Point
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.book import Book
from tuneledger.record import record
from tuneledger.wording import count, share

# Of the rows so many come out, and for so long: less is a glitch, judgement.
_RIGHT_SHARE = 0.9
_LEAST_S = 0.3
# A cell that the run only brushed tells nothing of its number.
_VISITED_S = 0.1
# A blend of less than this says too little about what is blended in.
_LEAST_WEIGHT = 0.1
_RIDGE = 1e-3  # holds a cell with hardly a row at 0
_ROUNDS = 4


@record(eq=False)
class _Open:
    """The rows in which a correction acts through cells that nobody knows.

    known: degrees that its other cells add to the table's value; index, weight: rows × corners,
    the weight 0 for a cell that is known
    """

    rows: IntArray
    known: FloatArray
    index: IntArray
    weight: FloatArray


def find(book: Book, account: Account, laid: Sequence[LaidSheet]) -> tuple[Extra, ...]:
    """One suspicion per correction whose open cells can be filled so that the balance comes out."""
    sheet = account.sheet
    if sheet is None or not account.runs:
        return ()
    found: list[Extra] = []
    for part in account.parts:
        correction = sheet.correction(part.correction)
        if correction is None or sheet.parts.get(part.correction) is not part:
            continue
        extra = _suspect(book, account, sheet, correction, part)
        if extra is not None and extra.shown is not None:
            found.append(extra)
            account = replace(account, left=account.left - extra.shown)
    return tuple(found)


def _suspect(
    book: Book, account: Account, sheet: LaidSheet, correction: Correction, part: Contribution
) -> Extra | None:
    open_ = _open(book, account, correction, part)
    if open_ is None:
        return None
    wanted = _wanted(book, account, sheet, part)[open_.rows]
    numbers = _solve(open_, wanted - open_.known, correction.grid.size, book.tolerance)
    value = np.full(book.times.shape, np.nan)
    value[open_.rows] = open_.known + (open_.weight * numbers[open_.index]).sum(axis=1)
    shown = np.nan_to_num(_posts(book, account, sheet, part, value))
    bound = book.tolerance + book.slack + account.ledger.edge_slack
    left = np.where(np.isfinite(value), account.left, np.nan)
    right = (np.abs(left - shown) <= bound) & np.isfinite(left)
    busy = np.abs(np.nan_to_num(left)) > bound
    cells = tuple(_cells(book, correction, open_, numbers if part.effect == "add" else None, shown))
    price = PER_CELL * len(cells)
    saved = residual_cost(book, left, book.slack) - residual_cost(book, left - shown, book.slack)
    fits = float(right[open_.rows].mean())
    if busy.sum() * book.row_s < _LEAST_S or fits < _RIGHT_SHARE or saved <= price or not cells:
        return None
    return Extra(
        kind="replacement" if correction.effect == "replace" else "correction",
        rows=right,
        certainty=SUSPECTED * fits,
        price=price,
        shown=np.where(right, shown, 0.0),
        correction=correction.id,
        revision=sheet.revision,
        cells=cells,
        points=(
            Point(
                "for",
                f"with {'a number' if len(cells) == 1 else 'numbers'} in {_open_cells(cells)} the "
                f"account balances in {share(fits)} of the samples in which it acts there",
            ),
            Point(
                "against",
                "the sheet leaves open what it takes or adds there: whatever else acted just there "
                "would look the same",
            ),
        ),
    )


def _open_cells(cells: Sequence[Cell]) -> str:
    return count(len(cells), "cell") + " that nobody knows"


def _open(book: Book, account: Account, correction: Correction, part: Contribution) -> _Open | None:
    """Where it acts for certain and a "?" has a share in its value; None where nowhere."""
    grid = correction.grid
    columns = [read(axis, book.inputs) for axis in correction.axes]
    there = [column for column in columns if column is not None]
    if not there or len(there) < len(columns) or not np.isnan(grid).any() or part.known is None:
        return None
    acts: BoolArray = part.known & ~part.computable & np.isfinite(account.left)
    rows = np.flatnonzero(acts & np.all([np.isfinite(c) for c in there], axis=0))
    if rows.size == 0:
        return None
    index, weight = corners([axis.points for axis in correction.axes], [c[rows] for c in there])
    flat = grid.ravel()
    unknown = np.where(np.isnan(flat)[index], weight, 0.0)
    touched = unknown.sum(axis=1) > 0
    if not touched.any():
        return None
    known = (weight * np.nan_to_num(flat)[index]).sum(axis=1)
    return _Open(rows[touched], known[touched], index[touched], unknown[touched])


def _wanted(book: Book, account: Account, sheet: LaidSheet, part: Contribution) -> FloatArray:
    """What the table would have to say for the balance to come out; NaN where any number would."""
    if part.effect == "add":
        return account.left
    if part.effect == "base":
        blended = part.weight >= _LEAST_WEIGHT
        return np.where(
            blended,
            _start(book, sheet) + account.left / np.where(blended, part.weight, 1.0),
            np.nan,
        )
    if part.effect == "replace":
        return book.delivered
    cut = np.abs(np.nan_to_num(account.left)) > book.tolerance + book.slack
    return np.where(cut, book.delivered, np.nan)


def _posts(
    book: Book, account: Account, sheet: LaidSheet, part: Contribution, value: FloatArray
) -> FloatArray:
    """What it posts if its table has this value."""
    if part.effect == "add":
        return value
    if part.effect == "base":
        return part.weight * (value - _start(book, sheet))
    gap = value - (book.delivered - account.left)
    if part.effect == "replace":
        return gap
    return np.minimum(gap, 0.0) if part.effect == "at most" else np.maximum(gap, 0.0)


def _start(book: Book, sheet: LaidSheet) -> FloatArray:
    return sheet.map_values if book.scheduled is None else book.start


def _solve(open_: _Open, wanted: FloatArray, size: int, tolerance: float) -> FloatArray:
    """The numbers of the open cells, flat: least squares, with rows that do not fit trusted less.

    A cell that was hardly touched stays near 0.
    """
    known = np.isfinite(wanted)
    index, weight, wanted = open_.index[known], open_.weight[known], wanted[known]
    cells, place = np.unique(index[weight > 0], return_inverse=True)
    design = np.zeros((wanted.size, cells.size))
    np.add.at(design, (np.nonzero(weight > 0)[0], place), weight[weight > 0])
    numbers: FloatArray = np.zeros(cells.size)
    trust = np.ones(wanted.size)
    for _ in range(_ROUNDS):
        normal = design.T @ (design * trust[:, None])
        penalty = _RIDGE * max(float(normal.trace()) / max(cells.size, 1), 1e-9)
        right = design.T @ (wanted * trust)
        solved = np.linalg.solve(normal + penalty * np.eye(cells.size), right)
        numbers = np.asarray(solved, np.float64)
        trust = 1.0 / np.maximum(1.0, np.abs(wanted - design @ numbers) / tolerance)
    out = np.zeros(size)
    out[cells] = numbers
    return out


def _cells(
    book: Book,
    correction: Correction,
    open_: _Open,
    numbers: FloatArray | None,
    shown: FloatArray,
) -> Iterator[Cell]:
    """The open cells in which the run spent any time, with what the log shows there: the number
    that an added table must have, else the mean of what was posted around the cell."""
    flat, weight = open_.index.ravel(), open_.weight.ravel()
    size = correction.grid.size
    visits = np.bincount(flat, weight, size)
    posted = np.bincount(flat, weight * np.repeat(shown[open_.rows], open_.index.shape[1]), size)
    for place in np.flatnonzero(visits * book.row_s >= _VISITED_S).tolist():
        corner = np.unravel_index(place, correction.grid.shape)
        mean = float(posted[place] / visits[place])
        yield Cell(
            at=tuple(float(axis.at[i]) for axis, i in zip(correction.axes, corner, strict=True)),
            difference_deg=mean if numbers is None else float(numbers[place]),
            seconds=float(visits[place] * book.row_s),
        )
