"""What of a rehearsal moves: which cells of the map, which postings; and where nobody drove."""

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Axis
from tuneledger.change.raises import Driven, Raise, raises
from tuneledger.change.rehearsal import LEAST_DEG, Moved, Rehearsal, Shift
from tuneledger.change.replay import Between
from tuneledger.evaluate.lookup import cell_of
from tuneledger.evaluate.model import Inputs
from tuneledger.evaluate.readings import read
from tuneledger.explain.sheets import LaidSheet
from tuneledger.ledger.model import Ledger


def cells(rehearsal: Rehearsal, old: LaidSheet, inputs: Inputs) -> tuple[Moved, ...]:
    """The cells of the map in which delivered moves, those that move most first."""
    axes = old.calibration.spark.map.axes
    columns = [read(axis, inputs) for axis in axes]
    if any(column is None for column in columns):
        return ()
    rows = np.flatnonzero(rehearsal.moving)
    index = np.zeros(rows.size, dtype=np.int64)
    for axis, column in zip(axes, columns, strict=True):
        assert column is not None
        index = index * len(axis.at) + cell_of(axis.points, column[rows])
    out = []
    for cell in np.unique(index):
        here = rows[index == cell]
        mask = np.zeros(rehearsal.moves.shape, dtype=np.bool_)
        mask[here] = True
        mean = float(rehearsal.moves[here].mean())
        out.append(Moved(_points(axes, int(cell)), mean, rehearsal.seconds(mask)))
    return tuple(sorted(out, key=lambda m: -abs(m.mean_deg) * m.seconds))


def unseen(
    rehearsal: Rehearsal, old: LaidSheet, new: LaidSheet, inputs: Inputs
) -> tuple[Raise, ...]:
    """Where the edit raises advance and this drive never was."""
    parts = [*old.parts.values(), *new.parts.values()]
    drive = Driven.of(inputs, rehearsal.counted, parts)
    found = raises(old.calibration, new.calibration, [drive])
    return tuple(one for one in found if one.seen is False)


def _points(axes: tuple[Axis, ...], cell: int) -> tuple[float, ...]:
    at: list[float] = []
    for axis in reversed(axes):
        cell, index = divmod(cell, len(axis.at))
        at.append(axis.at[index])
    return tuple(reversed(at))


def shifts(
    rehearsal: Rehearsal, ledger: Ledger, found: Between, old: LaidSheet, new: LaidSheet
) -> tuple[Shift, ...]:
    """Every posting that moves, the map's own among them, the largest first."""
    before = {entry.correction: entry.values for entry in ledger.entries}
    nothing = np.zeros(ledger.times.shape)
    pairs: list[tuple[str, FloatArray]] = [("", found.start - ledger.scheduled)]
    pairs += [(e.correction, e.values - before.get(e.correction, nothing)) for e in found.entries]
    changed = {"", *found.changed}
    if old.calibration.spark.limits != new.calibration.spark.limits:
        changed.add("limit")
    out = []
    for name, shift in pairs:
        rows: BoolArray = rehearsal.counted & (np.abs(np.nan_to_num(shift)) >= LEAST_DEG)
        if rows.any():
            moved = shift[rows]
            out.append(
                Shift(
                    entry=name,
                    called=_called(name, old, new),
                    mean_deg=float(moved.mean()),
                    peak_deg=float(moved[np.abs(moved).argmax()]),
                    seconds=rehearsal.seconds(rows),
                    edited=name in changed,
                )
            )
    return tuple(sorted(out, key=lambda s: (not s.edited, -abs(s.mean_deg) * s.seconds)))


def _called(name: str, old: LaidSheet, new: LaidSheet) -> str:
    correction = new.correction(name) or old.correction(name)
    if correction is not None:
        return correction.called
    return {"": "the main map", "limit": "the limits"}.get(name, name)
