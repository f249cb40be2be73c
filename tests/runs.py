"""Hand-made runs of Kestrel, the hill-climb car, for tests that need a log or a whole statement.

Nothing here reads a file or calls the code under test: a run is drawn with straight lines, the
map is looked up by SciPy, and entries are added by hand, so that a statement made of it is true.
"""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from tuneledger.arrays import FloatArray, IntArray
from tuneledger.calibrations.model import Calibration
from tuneledger.evaluate.model import Evidence
from tuneledger.ledger.model import Entry, Episode, EpisodeEntry, Ledger
from tuneledger.logs.model import Channel, Group, Log
from tuneledger.roles.model import Role, Roles
from tuneledger.statement.model import LogAccount, SuppliedSheet

TOLERANCE = 0.3
PRESSURES = (40.0, 70.0, 100.0, 150.0, 200.0)
SPEEDS = (900.0, 2000.0, 3500.0, 5000.0, 7000.0)
MAP = (
    (16.0, 30.0, 35.0, 36.0, 36.0),
    (15.0, 26.0, 31.0, 33.0, 33.0),
    (12.0, 20.0, 26.0, 28.0, 29.0),
    (10.0, 14.0, 19.0, 22.0, 23.0),
    (8.0, 10.0, 14.0, 17.0, 18.0),
)
NAMES = {
    "scheduled advance": ("Adv asked", "deg"),
    "delivered advance": ("Adv given", "deg"),
    "engine speed": ("Rev", "rpm"),
    "manifold absolute pressure": ("Boost abs", "kPa"),
    "throttle position": ("Plate", "%"),
    "intake air temperature": ("Air in", "degC"),
    "idle speed target": ("Idle aim", "rpm"),
    "vehicle speed": ("Road", "km/h"),
    "gear": ("Gear", ""),
}


@dataclass(frozen=True)
class Cells:
    """Columns of a log held as arrays: what a reader would keep."""

    columns: Sequence[FloatArray]

    def numbers(self, column: int) -> FloatArray:
        return self.columns[column].copy()

    def sample(self, column: int) -> FloatArray:
        return self.columns[column][:: max(1, self.columns[column].size // 300)]

    def some(self, columns: Sequence[int], rows: IntArray) -> dict[int, FloatArray]:
        return {column: self.columns[column][rows] for column in columns}

    def words(self, column: int) -> tuple[str, ...]:
        return ()

    def notes(self) -> tuple[str, ...]:
        return ()


@dataclass(frozen=True)
class Run:
    """What the car did: signals on one time base, before anything was posted to the ledger."""

    times: FloatArray
    signals: Mapping[str, FloatArray]
    scheduled: FloatArray
    regime: tuple[str, ...]
    entries: tuple[Entry, ...] = ()
    extra: Mapping[str, FloatArray] = field(default_factory=dict)

    def post(self, correction: str, values: FloatArray, **more: Any) -> "Run":
        """The run with one more entry in its books."""
        more.setdefault("evidence", Evidence.COMPUTED)
        return replace(self, entries=(*self.entries, Entry(correction, values, **more)))

    def carry(self, channel: str, values: FloatArray) -> "Run":
        """The run with one more channel in its log."""
        return replace(self, extra={**self.extra, channel: values})


@cache
def climb(length_s: float = 60.0, rate_hz: float = 20.0, warmth: float = 0.0) -> Run:
    """A warm day on the hill: idle, two pulls with a shift, overrun, a third pull, idle again."""
    t = np.arange(0.0, length_s, 1 / rate_hz)
    s = t * 60.0 / length_s
    plate = np.interp(
        s,
        [0, 8, 8.6, 19, 19.4, 22, 22.5, 36, 36.4, 40, 40.5, 52, 52.5, 60],
        [0, 0, 85, 90, 10, 12, 95, 95, 0, 0, 60, 62, 0, 0],
    )
    speed = np.interp(
        s,
        [0, 8, 9.5, 19, 19.4, 22, 28, 28.3, 36, 36.8, 40, 52, 55, 56, 60],
        [950, 950, 3000, 6400, 5200, 4800, 6600, 5000, 6800, 5200, 2600, 5200, 1500, 960, 950],
    )
    speed = speed + np.where(speed < 1400, 90 * np.sin(s * 2.1) * np.cos(s * 0.4), 0)
    pressure = np.interp(plate, [0, 30, 60, 100], [38, 80, 150, 196])
    air = np.interp(s, [0, 10, 36, 60], [36, 40, 61, 57]) + warmth
    surface = RegularGridInterpolator((PRESSURES, SPEEDS), np.array(MAP))
    points = np.column_stack([np.clip(pressure, 40, 200), np.clip(speed, 900, 7000)])
    regime = np.select(
        [(plate < 2) & (speed < 1150), plate < 2, plate > 50], ["idle", "overrun", "load"], "cruise"
    )
    signals = {
        "engine speed": speed,
        "manifold absolute pressure": pressure,
        "throttle position": plate,
        "intake air temperature": air,
        "idle speed target": np.full_like(t, 950.0),
    }
    return Run(t, signals, np.round(surface(points), 1), tuple(str(r) for r in regime))


def along(run: Run, signal: str, at: Sequence[float], deg: Sequence[float]) -> FloatArray:
    """A curve's contribution over the run, rounded like the logger rounds."""
    return np.round(np.interp(run.signals[signal], at, deg), 1)


def governor(run: Run) -> FloatArray:
    """The idle governor's work: closed throttle, against the speed error."""
    error = run.signals["idle speed target"] - run.signals["engine speed"]
    posted = np.interp(error, [-110, 0, 110], [-6, 0, 5])
    awake = np.array([r == "idle" for r in run.regime])
    return np.where(awake, np.round(posted, 1), 0.0)


def account(run: Run, file: str, *, delivered: bool = True, logged: bool = True) -> LogAccount:
    """The run written down as a log with its roles and, where there is an answer, its ledger."""
    total = np.sum([entry.values for entry in run.entries], axis=0) if run.entries else 0.0
    given = np.round(run.scheduled + total, 1)
    columns: dict[str, FloatArray] = {"Clock": run.times}
    if logged:
        columns["Adv asked"] = run.scheduled
    if delivered:
        columns["Adv given"] = given
    columns |= {NAMES[signal][0]: values for signal, values in run.signals.items()}
    columns |= dict(run.extra)
    units = {"Clock": "s", **dict(NAMES.values())}
    channels = tuple(
        Channel(name, units.get(name, ""), name, file, i) for i, name in enumerate(columns)
    )
    log = Log(file, (Group(run.times),), channels, channels[0], Cells(list(columns.values())))
    return LogAccount(log, _roles(log), _ledger(run, given) if delivered else None)


def _roles(log: Log) -> Roles:
    found = {"time": Role("time", log.time, "s", certainty=1.0, why=("it rises steadily",))}
    for signal, (name, unit) in NAMES.items():
        channel = log.find(name)
        if channel is not None:
            found[signal] = Role(signal, channel, unit, certainty=0.97, why=("its name and unit",))
    return Roles(found)


def _ledger(run: Run, delivered: FloatArray) -> Ledger:
    everywhere = np.ones(run.times.shape, dtype=np.bool_)
    return Ledger(
        quantity="spark advance",
        unit="deg",
        combine="sum",
        times=run.times,
        scheduled=run.scheduled,
        delivered=delivered,
        entries=run.entries,
        own=everywhere,
        void=~everywhere,
        slack=np.full(run.times.shape, 0.1),
        tolerance=TOLERANCE,
        regime=run.regime,
    )


def episodes(ledger: Ledger, log: int = 0, expected: frozenset[str] = frozenset()) -> list[Episode]:
    """Stretches of one regime in which delivered and scheduled disagree."""
    apart = np.abs(np.nan_to_num(ledger.difference)) > TOLERANCE
    regime = np.array(ledger.regime)
    edges = np.flatnonzero((np.diff(apart) != 0) | (regime[1:] != regime[:-1])) + 1
    bounds = [0, *edges.tolist(), apart.size]
    stretches = itertools.pairwise(bounds)
    return [_episode(ledger, log, a, b, expected) for a, b in stretches if apart[a] and b - a > 4]


def _episode(ledger: Ledger, log: int, first: int, end: int, expected: frozenset[str]) -> Episode:
    rows = slice(first, end)

    def mean(values: FloatArray) -> float:
        part = values[rows]
        return float(part[np.isfinite(part)].mean()) if np.isfinite(part).any() else float("nan")

    entries = tuple(
        EpisodeEntry(e.correction, mean(e.values), e.evidence, e.channel, e.revision)
        for e in ledger.entries
        if np.nanmax(np.abs(e.values[rows]), initial=0) > 0.05
    )
    return Episode(
        log=log,
        first=first,
        last=end - 1,
        start_s=float(ledger.times[first]),
        end_s=float(ledger.times[end - 1]),
        about="delivery",
        regime=ledger.regime[first],
        scheduled_deg=mean(ledger.scheduled),
        delivered_deg=mean(ledger.delivered),
        difference_deg=mean(ledger.difference),
        unaccounted_deg=mean(ledger.unaccounted),
        expected=bool(entries) and all(e.correction in expected for e in entries),
        entries=entries,
    )


def acting(ledger: Ledger, values: FloatArray) -> tuple[float, float]:
    """Mean degrees and seconds of a contribution where it acts beyond tolerance."""
    on = np.abs(values) > TOLERANCE
    step = float(np.median(np.diff(ledger.times)))
    return float(values[on].mean()), float(on.sum() * step)


def sheet(file: str, revision: str, corrections: Sequence[Mapping[str, Any]] = ()) -> SuppliedSheet:
    """Kestrel's sheet of one revision, with the map of this module."""
    axes = [
        {"signal": "manifold absolute pressure", "unit": "kPa", "at": PRESSURES},
        {"signal": "engine speed", "unit": "rpm", "at": SPEEDS},
    ]
    data = {
        "format": "tuneledger-calibration/1",
        "title": "Kestrel hill-climb car",
        "revision": revision,
        "engine": {"cylinders": 4, "fuel": "gasoline", "redline_rpm": 7400.0},
        "spark": {
            "limits": {"lowest": -8.0, "highest": 38.0},
            "map": {"axes": axes, "values": MAP},
            "correction": list(corrections),
        },
    }
    return SuppliedSheet(file, Calibration.model_validate(_tuples(data)))


def charge_air(values: Sequence[float]) -> dict[str, Any]:
    """The sheet's hot charge-air correction with these degrees at 20, 40, 60 and 80 °C."""
    axis = {"signal": "intake air temperature", "unit": "degC", "at": (20.0, 40.0, 60.0, 80.0)}
    return {
        "id": "charge-air",
        "title": "Hot charge air",
        "reason": "air temperature",
        "axes": [axis],
        "values": values,
    }


def _tuples(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _tuples(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return tuple(_tuples(item) for item in value)
    return value
