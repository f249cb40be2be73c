"""The true books of a log: scheduled, entries, delivered at its rows, and what they say.

Everything is read off the ECU's own bookkeeping; only what a sheet handed over would have said is
worked out by carrying that sheet out beside it.
"""

from typing import Any

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray, IntArray
from tuneledger.car.cases.following import replay
from tuneledger.car.cases.story import Sheet
from tuneledger.car.drive import Run
from tuneledger.record import record

LEAST_S = 0.06  # what acts for less is left out of causes


@record(eq=False)
class Books:
    """One row per log row, degrees, zero where the engine does not turn.

    scheduled: the logged channel, or the first sheet's map where it is not logged
    other_map: the running map minus that sheet's, where scheduled comes from the sheet
    beside_map: the running map minus the first sheet's map, whatever is logged
    """

    times: FloatArray
    scheduled: FloatArray
    delivered: FloatArray
    entries: dict[str, FloatArray]
    limit: FloatArray
    other_map: FloatArray
    beside_map: FloatArray
    loaded: BoolArray

    @property
    def difference(self) -> FloatArray:
        return self.delivered - self.scheduled

    def entry(self, name: str) -> FloatArray:
        if name == "limit":
            return self.limit
        if name == "other-map":
            return self.other_map if np.any(self.other_map) else self.beside_map
        return self.entries[name]

    def csv(self) -> bytes:
        """`truth.csv`: scheduled + entries + limit + other map = delivered."""
        shown = {n: e for n, e in self.entries.items() if np.any(np.abs(e) > 1e-9)}
        names = ["time_s", "scheduled_deg", "delivered_deg", *(f"entry:{n}" for n in shown),
                 "limit_deg", "other_map_deg"]  # fmt: skip
        columns = [self.times, self.scheduled, self.delivered, *shown.values(), self.limit,
                   self.other_map]  # fmt: skip
        cells = [[f"{x:.3f}" for x in (c + 0.0).tolist()] for c in columns]
        lines = [",".join(names), *(",".join(row) for row in zip(*cells, strict=True))]
        return ("\n".join(lines) + "\n").encode()


def keep_books(
    run: Run, rows: IntArray, running: Sheet, first: Sheet | None, scheduled_logged: bool
) -> Books:
    """The books at the log's rows; `first` is the sheet that is said to run."""
    on = ~run.void[rows]

    def at(values: FloatArray) -> FloatArray:
        return np.where(on, values[rows], 0.0)

    running_map = at(run.scheduled)
    beside = np.zeros(rows.size)
    if first is not None and first["spark"]["map"] != running["spark"]["map"]:
        beside = np.where(on, running_map - map_along(first, run, rows), 0.0)
    other = np.zeros(rows.size) if scheduled_logged else beside
    entries = {name: at(e) for name, e in run.entries.items() if name != "limit"}
    limit = at(run.entries["limit"]) if "limit" in run.entries else np.zeros(rows.size)
    loaded = on & (run.columns["throttle position"][rows] > 20.0)
    times = run.times[rows] - run.times[rows[0]]
    return Books(
        times, running_map - other, at(run.delivered), entries, limit, other, beside, loaded
    )


def map_along(sheet: Sheet, run: Run, rows: IntArray) -> FloatArray:
    """What a sheet's map asks for at the log's rows."""
    return replay(sheet | {"spark": {"map": sheet["spark"]["map"]}}, run, rows)


def episodes(books: Books, tolerance: float, about: str) -> list[dict[str, Any]]:
    """Stretches beyond tolerance, short breaks closed."""
    gap = books.difference if about == "delivery" else books.beside_map
    out = []
    for first, last in spans(np.abs(gap) > tolerance + 1e-9, books.times):
        part = slice(first, last + 1)
        named = {"limit": books.limit, "other-map": books.other_map} | books.entries
        if about == "map":
            named = {}
        means = {n: float(e[part].mean()) for n, e in named.items()}
        out.append({
            "log": 0,
            "start_s": round(float(books.times[first]), 3),
            "end_s": round(float(books.times[last]), 3),
            "about": about,
            "scheduled_deg": round(float(books.scheduled[part].mean()), 2),
            "delivered_deg": round(float(books.delivered[part].mean()), 2),
            "difference_deg": round(float(gap[part].mean()), 2),
            "unaccounted_deg": 0.0,
            "entries": [
                {"correction": n, "deg": round(m, 2)} for n, m in means.items() if abs(m) > 0.02
            ],
        })  # fmt: skip
    return out


def spans(true: BoolArray, times: FloatArray, close_s: float = 0.1) -> list[tuple[int, int]]:
    """First and last row of each stretch; breaks of up to `close_s` are closed."""
    rows = np.flatnonzero(true)
    if rows.size == 0:
        return []
    breaks = np.flatnonzero((np.diff(times[rows]) > close_s + 1e-9) & (np.diff(rows) > 1))
    starts = np.concatenate([[0], breaks + 1])
    ends = np.concatenate([breaks, [rows.size - 1]])
    found = [(int(rows[a]), int(rows[b])) for a, b in zip(starts, ends, strict=True)]
    return [(a, b) for a, b in found if b > a]
