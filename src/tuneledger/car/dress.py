"""The dress of a log: how a made-up logger writes, and in which units and steps."""

from dataclasses import field

import numpy as np

from tuneledger.car.distractors import DISTRACTORS
from tuneledger.car.j1979 import J1979
from tuneledger.record import record
from tuneledger.signals import SIGNALS

SWITCHES = ("wet", "pass", "launch", "arm", "pit", "shift", "clutch", "fan", "crank", "fuel cut")
SPARK = ("scheduled advance", "delivered advance")

# own steps of a quantity in its own unit; a logger takes one of them
STEPS: dict[str, tuple[float, ...]] = {
    "engine speed": (1.0, 1.0, 0.25, 5.0, 10.0),
    "engine load": (0.1, 0.5),
    "manifold absolute pressure": (0.1, 0.1, 0.5, 1.0),
    "barometric pressure": (0.1, 0.5),
    "throttle position": (0.1, 0.1, 0.4),
    "accelerator position": (0.1, 0.5),
    "engine coolant temperature": (0.5, 1.0, 0.1),
    "intake air temperature": (0.5, 1.0, 0.1),
    "oil temperature": (0.5, 1.0),
    "fuel temperature": (0.5, 1.0),
    "oil pressure": (1.0, 0.1),
    "fuel pressure": (1.0, 0.5),
    "module voltage": (0.01, 0.02, 0.1),
    "vehicle speed": (0.1, 1.0),
    "gear": (1.0,),
    "ethanol content": (0.1, 0.4),
    "idle speed target": (1.0, 10.0),
    "knock level": (0.01, 0.02),
    "commanded lambda": (0.001, 0.01),
    "measured lambda": (0.001, 0.005),
    "slip": (0.1, 0.5),
    "knock share": (0.1,),
}

# how loggers spell a unit; every one of them must be known to `units`
LABELS: dict[str, tuple[str, ...]] = {
    "deg": ("deg", "°", "deg"),
    "crank deg": ("deg", "°", "°KW", "°BTDC", "degBTDC", "°crk", "deg", "°"),
    "rpm": ("rpm", "1/min", "U/min", "tr/min", "giri/min", "varv/min", "rev/min"),
    "kPa": ("kPa", "kpa"),
    "bar": ("bar",),
    "psi": ("psi", "PSI"),
    "mbar": ("mbar", "hPa"),
    "degC": ("°C", "degC", "C", "deg C"),
    "degF": ("°F", "degF", "F"),
    "%": ("%", "pct", "percent"),
    "1": ("0-1", "frac"),
    "km/h": ("km/h", "kph", "kmh"),
    "mph": ("mph", "MPH"),
    "m/s": ("m/s",),
    "V": ("V", "Volt"),
    "s": ("s", "sec"),
    "ms": ("ms",),
    "g": ("g", "G"),
    "Nm": ("Nm",),
    "lambda": ("lambda", "λ"),
}


@record
class Column:
    """One column of a log.

    key: the quantity; unit: canonical symbol; label: as the file has it ("" for none)
    step, decimals: resolution in `unit`, and how many figures are written
    every: the channel has a sample of its own in one row of so many, and in between the last one
    is repeated ("hold"), nothing stands ("blank") or a straight line is drawn ("line")
    """

    key: str
    name: str
    unit: str
    label: str
    step: float
    decimals: int
    every: int = 1
    between: str = "hold"
    switch: bool = False


@record
class Dress:
    """How the file is written. `lag`: by how many rows delivered advance is late."""

    vocabulary: str
    rate_hz: int
    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    newline: str = "\n"
    preamble: tuple[str, ...] = ()
    units_in: str = "row"  # "row", "(", "[" or "none"
    time_as: str = "s"  # "s", "ms" or "clock"
    time_from: float = 0.0
    on_off: tuple[str, str] = ("1", "0")
    missing: str = ""
    lag: float = 0.0
    trailing: bool = False
    spelling: int = 0  # which spelling of a unit this logger takes
    port: bool = False  # it reads what the diagnostic port gives, in the steps of SAE J1979
    taste: dict[str, str] = field(default_factory=dict)  # unit symbol → what this logger uses


ON_OFF = (
    ("1", "0"),
    ("on", "off"),
    ("true", "false"),
    ("yes", "no"),
    ("ON", "OFF"),
    ("TRUE", "FALSE"),
)
PREAMBLES = (
    (),
    (),
    ("Session notes", "Driver: ours", "Weather: as it was"),
    ("# kept by the pit box", "# file 3 of 4"),
    ("Bench sheet 12;;", "Operator;none", "Remarks;"),
    ("recorder=field unit", "build=41", "", ""),
)


def random_dress(rng: np.random.Generator, vocabulary: str, rate_hz: int | None = None) -> Dress:
    """A logger's habits, drawn at random."""
    european = vocabulary in ("german", "french", "spanish", "italian", "swedish")
    delimiter = str(
        rng.choice([";", "\t"] if european and rng.random() < 0.6 else [",", ",", ";", "\t"])
    )
    decimal = "," if delimiter != "," and (european or rng.random() < 0.15) else "."
    latin = ["utf-8", "utf-8", "utf-8-sig", "latin-1"]
    preamble = PREAMBLES[int(rng.integers(len(PREAMBLES)))]

    def pick(*options: str) -> str:
        return str(rng.choice(list(options)))

    units_in = pick(*["row", "(", "[", "(", "["] * 3, "none")
    taste = {
        "kPa": pick("kPa", "kPa", "kPa", "bar", "psi", "mbar"),
        "degC": pick("degC", "degC", "degC", "degF"),
        "%": pick("%", "%", "%", "%", "1"),
        "km/h": pick("km/h", "km/h", "mph", "m/s"),
    }
    return Dress(
        vocabulary=vocabulary,
        rate_hz=rate_hz or int(rng.choice([10, 20, 20, 25, 40, 50, 50, 100, 100, 200])),
        delimiter=delimiter,
        decimal=decimal,
        encoding=pick(*latin),
        newline="\r\n" if rng.random() < 0.3 else "\n",
        preamble=tuple(line.replace(";", delimiter) for line in preamble),
        units_in=units_in,
        time_as=pick("s", "s", "s", "ms", "clock"),
        time_from=float(rng.choice([0.0, 0.0, round(float(rng.uniform(5.0, 5000.0)), 2)])),
        on_off=ON_OFF[int(rng.integers(len(ON_OFF)))],
        missing=pick("", "-", "---", "NaN", "n/a"),
        lag=round(float(rng.choice([0.0, 0.0, rng.uniform(0.2, 1.0), 1.0])), 2),
        trailing=bool(rng.random() < 0.06),
        spelling=int(rng.integers(840)),
        taste={} if units_in == "none" else taste,  # unlabelled numbers are in the usual units
    )


DECIMALS = {"bar": 3, "psi": 2, "mbar": 0, "degF": 1, "1": 3, "mph": 1, "m/s": 2, "rad": 4}


def column_for(
    key: str, name: str, dress: Dress, rng: np.random.Generator, spark_step: float
) -> Column:
    """The column of a quantity in that dress."""
    own = own_unit(key)
    unit = dress.taste.get(own, own)
    if own == "%" and key not in ("throttle position", "accelerator position"):
        unit = "%"  # a logger that writes 0 to 1 does so for pedals and plates
    switch = is_switch(key)
    if dress.port and key in J1979 and key not in SPARK:
        step = J1979[key].scale
    elif key in SPARK or key.startswith("share"):
        step = spark_step if key in SPARK else min(spark_step, 0.1)
    else:
        step = float(rng.choice(STEPS[key])) if key in STEPS else finest(key)
    decimals = figures(step)
    if unit != own:
        decimals = DECIMALS[unit]
    label = "" if switch else _label(key, unit, dress, rng)
    return Column(key, name, unit, label, step, decimals, switch=switch)


def finest(key: str) -> float:
    """The finest step in which loggers here write a quantity, in its own unit."""
    if is_switch(key):
        return 1.0
    return STEPS[key][0] if key in STEPS else DISTRACTORS[key].step


def figures(step: float) -> int:
    """How many decimals a step needs."""
    return next((n for n in range(4) if abs(round(step, n) - step) < 1e-9), 2)


def _label(key: str, unit: str, dress: Dress, rng: np.random.Generator) -> str:
    """One spelling per unit in a file, but for the odd channel that somebody else set up."""
    what = "crank deg" if key in SPARK or key.startswith("share") else unit
    known = LABELS.get(what, (unit,))
    own = dress.spelling % len(known)
    return known[int(rng.integers(len(known))) if rng.random() < 0.04 else own]


def own_unit(key: str) -> str:
    """The unit in which the car itself keeps a quantity; empty where it has none."""
    if key in SIGNALS:
        return SIGNALS[key].unit
    if key in DISTRACTORS:
        return DISTRACTORS[key].unit
    return {"slip": "%", "knock share": "deg", "time": "s", "lateral": "g"}.get(
        key, "deg" if key.startswith("share") else ""
    )


def is_switch(key: str) -> bool:
    """Whether a quantity is on or off and nothing between."""
    return key in SWITCHES or (key in DISTRACTORS and DISTRACTORS[key].switch)
