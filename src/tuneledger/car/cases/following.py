"""Sheets carried out beside a run: over the truth, or over nothing but what the log holds."""

from collections.abc import Mapping

import numpy as np

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.car.cases.story import Sheet, switched_on
from tuneledger.car.dress import own_unit
from tuneledger.car.drive import DT, Run
from tuneledger.car.ecu import Step
from tuneledger.car.logger import Logged, sampled
from tuneledger.car.senses import Senses, Source
from tuneledger.units import conversion


def carried_out(
    sheet: Sheet,
    channels: Mapping[str, Source],
    times: FloatArray,
    columns: Mapping[str, FloatArray],
    scheduled: FloatArray | None = None,
) -> list[Step]:
    """A sheet carried out over columns in their own units, by an ECU just switched on."""
    ecu, senses = switched_on(sheet), Senses(channels)
    table = np.column_stack(list(columns.values())).tolist()
    starts = [None] * times.size if scheduled is None else scheduled.tolist()
    steps = []
    for t, row, start in zip(times.tolist(), table, starts, strict=True):
        senses.now = dict(zip(columns, row, strict=True))
        steps.append(ecu.step(t, senses, start))
    return steps


def replay(sheet: Sheet, run: Run, rows: IntArray) -> FloatArray:
    """What the sheet would have delivered, carried out from row to row; NaN where unknown."""
    columns = {key: values[rows] for key, values in run.columns.items()}
    steps = carried_out(sheet, run.plan.channels, run.times[rows], columns)
    return np.array([np.nan if s.delivered is None else s.delivered for s in steps])


def misfit(sheet: Sheet, run: Run, rows: IntArray) -> float | None:
    """Rms of delivered minus what the sheet would have delivered; None where it is unknown.

    Carried out some fifty times a second, which is enough for every timer that sheets have.
    """
    rows = rows[:: max(1, round(0.02 / (DT * max(1.0, float(np.median(np.diff(rows)))))))]
    off = (run.delivered[rows] - replay(sheet, run, rows))[~run.void[rows]]
    off = off[np.isfinite(off)]
    return round(float(np.sqrt(np.mean(off**2))), 3) if off.size > rows.size / 2 else None


def from_the_log(sheet: Sheet, run: Run, logged: Logged) -> dict[str, FloatArray]:
    """The entries that follow from the numbers in the log, rounded and held as they are; NaN
    where an input is not logged. Void rows are 0."""
    columns = {}
    for c in logged.columns:
        if c.key != "time":
            scale, offset = conversion(c.unit, own_unit(c.key)) or (1.0, 0.0)
            columns[c.key] = scale * sampled(run, c, logged.dress, logged.rows) + offset
    scheduled = columns.get("scheduled advance")
    steps = carried_out(sheet, run.plan.channels, run.times[logged.rows], columns, scheduled)
    void = run.void[logged.rows]
    return {
        name: np.where(void, 0.0, np.array([_or_nan(s.entries[name]) for s in steps]))
        for name in steps[0].entries
    }


def _or_nan(entry: float | None) -> float:
    return np.nan if entry is None else entry
