"""Operating points: where a cause acted on the first drive, and whether the second went there.

A point is a cell of the first sheet's map where both drives carry its inputs, else a cell of engine
speed and load in round steps. A cause that a sheet or a rule can compute has points of its own too:
the samples of the second drive in which it would act.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.calibrations.model import Calibration
from tuneledger.change.definition import definition
from tuneledger.change.renamed import RenamedInputs, roles_by_name
from tuneledger.evaluate.combine import combine
from tuneledger.evaluate.lookup import cell_of
from tuneledger.evaluate.readings import read
from tuneledger.evaluate.replay import contributions
from tuneledger.explain.model import Cause
from tuneledger.explain.sheets import solid
from tuneledger.ledger.model import Ledger
from tuneledger.record import record
from tuneledger.roles.inputs import LogInputs
from tuneledger.roles.model import Role
from tuneledger.statement.model import LogAccount, Statement

# Steps that a driver can hold: common practice, no source.
_STEPS = (
    ("manifold absolute pressure", 20.0),
    ("engine load", 10.0),
    ("throttle position", 10.0),
    ("accelerator position", 10.0),
)
_SPEED_STEP = 500.0
_FEWEST_ROWS = 2  # of a visit
_NOWHERE = -1
# A gap is longer than any raster: half a second, and five of the log's own steps.
_GAP_S, _GAP_STEPS = 0.5, 5.0


@record(eq=False)
class Drive:
    """One log with its ledger and its inputs, and the operating point of each row, −1 unknown."""

    account: LogAccount
    ledger: Ledger
    inputs: RenamedInputs
    points: IntArray

    @property
    def counted(self) -> BoolArray:
        """Rows with a sample of delivered's own, not void."""
        ledger = self.ledger
        return ledger.own & ~ledger.void & np.isfinite(ledger.delivered)

    def seconds(self, rows: BoolArray) -> float:
        share = max(float(self.ledger.own.mean()), 1e-9)
        return float(rows.sum()) * self.ledger.row_s / share


def drives_of(
    before: Statement, after: Statement
) -> tuple[tuple[Drive | None, ...], tuple[Drive | None, ...]]:
    """The logs of both statements with operating points in the same cells; None without ledger."""
    both = [_bare(before, {}), _bare(after, roles_by_name(before))]
    every = [(a, i) for logs in both for a, i in logs if i is not None]
    sheet = before.sheets[0].calibration if before.sheets else None
    names = _load(every)

    def placed(account: LogAccount, inputs: RenamedInputs | None) -> Drive | None:
        if inputs is None or account.ledger is None:
            return None
        by_map = sheet is not None and all(_map_cells(sheet, i) is not None for _, i in every)
        points = _map_cells(sheet, inputs) if by_map and sheet is not None else None
        if points is None:
            points = _round_cells(names, inputs)
        return Drive(account, account.ledger, inputs, points)

    first, second = (tuple(placed(a, i) for a, i in logs) for logs in both)
    return first, second


def _bare(
    statement: Statement, first: Mapping[str, Role]
) -> list[tuple[LogAccount, RenamedInputs | None]]:
    """first: what the channels of an earlier drive were read as, by their names"""
    return [
        (a, RenamedInputs(a, a.ledger.times, first) if a.ledger else None) for a in statement.logs
    ]


def _map_cells(sheet: Calibration, inputs: LogInputs) -> IntArray | None:
    """The nearest cell of the map per row; None where an input is missing or there are no axes."""
    axes = sheet.spark.map.axes
    out = np.zeros(inputs.times.shape, dtype=np.int64)
    lost = np.zeros(inputs.times.shape, dtype=np.bool_)
    for axis in axes:
        column = read(axis, inputs)
        if column is None or not np.isfinite(column).any():
            return None
        cell = cell_of(axis.points, column)
        lost |= cell < 0
        out = out * len(axis.at) + cell
    return np.where(lost, _NOWHERE, out) if axes else None


def _load(every: Sequence[tuple[LogAccount, LogInputs]]) -> tuple[tuple[str, float], ...]:
    """The signals, with steps, that part operating points in every log: speed and one of load."""
    steps = (("engine speed", _SPEED_STEP), *_STEPS)
    there = [one for one in steps if all(i.signal(one[0], None) is not None for _, i in every)]
    loads = [one for one in there if one[0] != "engine speed"][:1]
    return (*[one for one in there if one[0] == "engine speed"], *loads)


def _round_cells(names: tuple[tuple[str, float], ...], inputs: LogInputs) -> IntArray:
    out = np.zeros(inputs.times.shape, dtype=np.int64)
    # Without any such signal in common nobody can say that one log went where the other did.
    lost = np.full(inputs.times.shape, not names)
    for name, step in names:
        column = inputs.signal(name, None)
        assert column is not None
        lost |= ~np.isfinite(column)
        out = out * 1000 + np.clip(np.nan_to_num(column) // step, 0, 999).astype(np.int64)
    return np.where(lost, _NOWHERE, out)


def acting(cause: Cause, number: int, drive: Drive, statement: Statement) -> BoolArray:
    """The rows of one log in which a cause acts beyond tolerance."""
    ledger = drive.ledger
    rows = np.zeros(ledger.times.shape, dtype=np.bool_)
    if cause.entry is not None:
        for entry in ledger.entries:
            if entry.correction == cause.entry:
                rows |= np.abs(np.nan_to_num(entry.values)) > ledger.tolerance
        return rows & drive.counted
    for index in cause.episodes:
        episode = statement.episodes[index]
        if episode.log == number:
            rows[episode.first : episode.last + 1] = True
    return rows & drive.counted


def visited(drives: Sequence[Drive | None]) -> IntArray:
    """The operating points that these drives were in for more than a moment."""
    points = [drive.points[drive.counted] for drive in drives if drive is not None]
    every = np.concatenate(points) if points else np.zeros(0, dtype=np.int64)
    found, often = np.unique(every[every != _NOWHERE], return_counts=True)
    return np.asarray(found[often >= _FEWEST_ROWS], dtype=np.int64)


def would_post(cause: Cause, drive: Drive, statement: Statement) -> FloatArray | None:
    """What the cause's correction, limit or rule, as it was, would post on a drive; NaN where not
    known. None where neither a sheet nor a rule says what it does.
    """
    found = definition(cause, statement)
    return posted(*found, drive) if found else None


def posted(sheet: Calibration, name: str, drive: Drive) -> FloatArray | None:
    """What one correction of a sheet, or its limits, would post in each row of a drive.

    In degrees, NaN where not known; None where the sheet has nothing of that name.
    """
    pieces = [_posted(name, sheet, drive, piece) for piece in stretches(drive.ledger.times)]
    known = [values for values in pieces if values is not None]
    return np.concatenate(known) if len(known) == len(pieces) else None


def _posted(name: str, sheet: Calibration, drive: Drive, piece: slice) -> FloatArray | None:
    """What one correction of a sheet, or its limits, would post over a stretch without a gap."""
    on = {c.id for c in sheet.spark.correction if c.enabled} | {name}
    inside = sheet.spark.scheduled_includes
    parts = [
        part if part.correction == name else solid(part)
        for part in contributions(sheet, Piece(drive.inputs, piece))
        if part.correction in on and part.correction not in inside
    ]
    start = drive.ledger.scheduled[piece]
    return combine(start, parts, sheet.spark.limits).entries.get(name)


def stretches(times: FloatArray) -> list[slice]:
    """The log in pieces without a gap: what happened in a gap, timers and latches cannot know."""
    steps = np.diff(times)
    usual = float(np.median(steps)) if steps.size else 0.0
    cuts = np.flatnonzero(steps > max(_GAP_S, _GAP_STEPS * usual)) + 1
    edges = [0, *cuts.tolist(), times.size]
    return [slice(start, end) for start, end in pairwise(edges)]


class Piece:
    """Some rows of a log's inputs, as evaluation sees them."""

    def __init__(self, inputs: LogInputs, rows: slice) -> None:
        self._inputs, self._rows = inputs, rows

    @property
    def times(self) -> FloatArray:
        return self._inputs.times[self._rows]

    def signal(self, name: str, unit: str | None) -> FloatArray | None:
        values = self._inputs.signal(name, unit)
        return None if values is None else values[self._rows]

    def channel(self, name: str, unit: str | None) -> FloatArray | None:
        values = self._inputs.channel(name, unit)
        return None if values is None else values[self._rows]


def dwelt(drives: Sequence[Drive | None], points: IntArray) -> float:
    """Seconds that these drives spent at some operating points."""
    return sum(
        drive.seconds(drive.counted & np.isin(drive.points, points)) for _, drive in each(drives)
    )


def each(drives: Sequence[Drive | None]) -> Iterator[tuple[int, Drive]]:
    """The drives that can be read, each with its number among all."""
    for number, drive in enumerate(drives):
        if drive is not None:
            yield number, drive
