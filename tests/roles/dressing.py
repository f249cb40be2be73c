"""A made-up drive put into a logger's dress: names, units, faults, and the truth beside it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np
from numpy.random import Generator

from tests.roles.bystanders import add_bystanders
from tests.roles.drives import Drive, drive
from tuneledger.arrays import FloatArray, IntArray
from tuneledger.calibrations.model import Calibration
from tuneledger.logs.model import Channel, Group, Log
from tuneledger.signals import SIGNALS

UNSEEN = ("hungarian", "turkish", "finnish")
PLAIN = "plain"
SPELLED = {
    "degC": ("°C", "C", "degC", "deg C"), "degF": ("°F", "F", "degF"),
    "rpm": ("rpm", "1/min", "U/min", "min-1", "RPM"), "kPa": ("kPa", "kpa"), "psi": ("psi",),
    "bar": ("bar",), "mbar": ("mbar", "hPa"), "deg": ("deg", "°", "°KW", "°BTDC", "degrees"),
    "%": ("%", "pct"), "km/h": ("km/h", "kph"), "mph": ("mph",), "V": ("V", "volts"), "ms": ("ms",),
    "inHg": ("inHg",), "kn": ("kn",), "1": ("1",),
}  # fmt: skip
# unit of a drive → other units, as (unit, scale, offset) from it
OTHER = {
    "degC": [("degF", 1.8, 32.0)],
    "kPa": [("psi", 1 / 6.894757, 0.0), ("bar", 0.01, 0.0), ("mbar", 10.0, 0.0)],
    "km/h": [("mph", 1 / 1.609344, 0.0)],
    "%": [("1", 0.01, 0.0)],
}


@dataclass(frozen=True)
class Cells:
    """Columns of a log held as arrays; the thin sample is every so-many-th row."""

    columns: tuple[FloatArray, ...]

    def numbers(self, column: int) -> FloatArray:
        return self.columns[column].copy()

    def sample(self, column: int) -> FloatArray:
        values = self.columns[column]
        rows = np.linspace(0, max(0, values.size - 1), min(values.size, 400)).astype(int)
        return values[rows]

    def some(self, columns: Sequence[int], rows: IntArray) -> dict[int, FloatArray]:
        return {column: self.columns[column][rows] for column in columns}

    def words(self, column: int) -> tuple[str, ...]:
        return ()

    def notes(self) -> tuple[str, ...]:
        return ()


@dataclass
class Dressed:
    """A log, and which channel truly is which signal.

    truth: signal → channel; quantity: channel → what it carries
    faults: signal → what was done to its numbers against the label ("unit" or "sign")
    real:   signal → (scale, offset) that bring the channel's numbers to the signal's own unit
    """

    log: Log
    truth: dict[str, str]
    quantity: dict[str, str]
    style: str
    labelled: str
    sheet: Calibration | None
    faults: dict[str, str] = field(default_factory=dict)
    real: dict[str, tuple[float, float]] = field(default_factory=dict)


@cache
def languages() -> dict[str, dict[str, list[str]]]:
    out: dict[str, dict[str, list[str]]] = {}
    for line in Path(__file__).with_name("dresses.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("["):
            names = out.setdefault(line.strip("[]"), {})
        elif line and not line.startswith("#"):
            quantity, _, choices = line.partition(":")
            names[quantity] = [c.strip() for c in choices.split("|")]
    return out


def make_log(columns: dict[str, tuple[FloatArray, str]], times: FloatArray) -> Log:
    """A log of one group from name → (values, label). Time is its first column."""
    channels = [Channel("Time", "s", "Time", "made.csv", 0)]
    cells = [times]
    for i, (name, (values, unit)) in enumerate(columns.items(), start=1):
        channels.append(Channel(name, unit, f"{name} [{unit}]" if unit else name, "made.csv", i))
        cells.append(np.asarray(values, dtype=float))
    return Log("made.csv", (Group(times),), tuple(channels), channels[0], Cells(tuple(cells)))


def sheet_of(d: Drive) -> Calibration:
    """The drive's map as a calibration sheet."""
    units = [SIGNALS[s].unit for s in d.axes]
    return Calibration.model_validate(
        {
            "format": "tuneledger-calibration/1",
            "revision": "A",
            "spark": {
                "map": {
                    "axes": tuple(
                        {"signal": s, "unit": u, "at": tuple(float(p) for p in points)}
                        for s, u, points in zip(d.axes, units, d.points, strict=True)
                    ),
                    "values": tuple(tuple(float(v) for v in row) for row in d.table),
                }
            },
        }
    )


def dressed(
    seed: int,
    *,
    style: str | None = None,
    labelled: str | None = None,
    sheet: bool | None = None,
    faulty: bool | None = None,
) -> Dressed:
    """A drive in a dress. What is not said is drawn from the seed."""
    rng = np.random.default_rng(seed + 10_000)
    d = drive(seed, float(rng.uniform(25, 70)))
    add_bystanders(d, np.random.default_rng(seed + 20_000))
    style = style or str(rng.choice([*languages(), "nonsense", "misleading"]))
    labelled = labelled or str(rng.choice(["all", "none", "some"], p=[0.75, 0.12, 0.13]))
    faulty = bool(rng.random() < 0.3) if faulty is None else faulty
    sheet = bool(rng.random() < 0.4) if sheet is None else sheet
    chosen = _choose(d, rng)
    names = _names(chosen, style, rng)
    every = int(rng.choice([1, 2, 4]))
    wrong = _faults(chosen, rng) if faulty else {}
    imperial = rng.random() < 0.25
    columns: dict[str, tuple[FloatArray, str]] = {}
    out = Dressed(None, {}, {}, style, labelled, sheet_of(d) if sheet else None)  # type: ignore[arg-type]
    for quantity in chosen:
        values, unit = d.quantities[quantity]
        unit, scale, offset = _unit(unit, rng, imperial)
        label = unit
        if quantity in wrong:
            label, unit, scale, offset = wrong[quantity]
            out.faults[quantity] = "sign" if scale == -1 else "unit"
        numbers = np.round((values * scale + offset)[::every], 4)
        if rng.random() < 0.06 and quantity not in d.axes and "advance" not in quantity:
            numbers = np.where(np.arange(numbers.size) % 10 == 3, numbers, np.nan)
        show = labelled == "all" or (labelled == "some" and rng.random() < 0.5)
        spelled = str(rng.choice(SPELLED.get(label, (label,))))
        columns[names[quantity]] = (numbers, spelled if show else "")
        out.quantity[names[quantity]] = quantity
        if quantity in SIGNALS:
            out.truth[quantity] = names[quantity]
            out.real[quantity] = (1 / scale, -offset / scale)
    out.log = make_log(columns, d.times[::every])
    return out


def _choose(d: Drive, rng: Generator) -> list[str]:
    rare = {
        "ethanol content": 0.3,
        "fuel temperature": 0.3,
        "knock level": 0.5,
        "idle speed target": 0.5,
    }
    keep = [q for q in d.quantities if q in SIGNALS and rng.random() < rare.get(q, 0.8)]
    keep += [q for q in ("engine speed", "delivered advance", *d.axes) if q not in keep]
    others = [q for q in d.quantities if q not in SIGNALS]
    keep += [str(q) for q in rng.permutation(others)[: int(rng.integers(5, len(others)))]]
    return [str(q) for q in rng.permutation(keep)]


def _names(chosen: list[str], style: str, rng: Generator) -> dict[str, str]:
    out: dict[str, str] = {}
    used: set[str] = set()
    decoy_words = [n for ns in languages()["english"].values() for n in ns]
    for i, quantity in enumerate(chosen):
        known = languages().get(style, {}).get(quantity)
        if known:
            name = str(rng.choice(known))
        elif style == "misleading":
            # words that mean something else, for about one channel in six
            name = str(rng.choice(decoy_words)) if rng.random() < 0.15 else _syllables(rng)
        elif style == "nonsense":
            name = f"ch{i:02d}"
        elif quantity in SIGNALS or style not in ("english", "sae") or rng.random() < 0.3:
            name = _syllables(rng)
        else:
            name = quantity[2:]
        while name.casefold() in used:
            name += "x"
        used.add(name.casefold())
        out[quantity] = name
    return out


def _syllables(rng: Generator) -> str:
    parts = ["ka", "mo", "zu", "ri", "te", "lo", "vi", "na", "pel", "gor", "tis", "bam", "dru"]
    return "".join(str(p) for p in rng.choice(parts, int(rng.integers(2, 4)))).capitalize()


def _unit(unit: str, rng: Generator, imperial: bool) -> tuple[str, float, float]:
    if unit in OTHER and rng.random() < (0.8 if imperial and unit != "%" else 0.05):
        choices = OTHER[unit][:1] if imperial else OTHER[unit]
        return choices[int(rng.integers(len(choices)))]
    return unit, 1.0, 0.0


def _faults(chosen: list[str], rng: Generator) -> dict[str, tuple[str, str, float, float]]:
    """One quantity whose numbers contradict its label: (label, real unit, scale, offset)."""
    possible = {
        "engine coolant temperature": ("degC", "degF", 1.8, 32.0),
        "manifold absolute pressure": ("kPa", "psi", 1 / 6.894757, 0.0),
        "oil temperature": ("degC", "degF", 1.8, 32.0),
        "throttle position": ("%", "1", 0.01, 0.0),
        "delivered advance": ("deg", "deg", -1.0, 0.0),
        "scheduled advance": ("deg", "deg", -1.0, 0.0),
        "barometric pressure": ("kPa", "mbar", 10.0, 0.0),
    }
    able = [q for q in possible if q in chosen]
    quantity = str(rng.choice(able))
    return {quantity: possible[quantity]}
