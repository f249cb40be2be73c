"""A big log for measuring speed: a short drive, repeated until it is long enough.

The rows of one stretch are repeated under a time column that goes on, so that 90,000 rows ×
150 channels (some in psi and degF) take seconds, and an hour of 200 channels at 200 Hz no more
memory than a batch. A stretch begins and ends at idle. What no sheet reads flickers anew by a step
in every row, as logged channels do: a log that repeats itself to the last figure packs and reads
like no other.
"""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from tuneledger.car import corrections as make
from tuneledger.car.bench import Bench
from tuneledger.car.distractors import DISTRACTORS, add
from tuneledger.car.dress import SPARK, Column, Dress, column_for, own_unit
from tuneledger.car.drive import Plan, Run, drive
from tuneledger.car.driver import Leg
from tuneledger.car.ecu import Ecu
from tuneledger.car.logger import write_log
from tuneledger.car.maps import random_map
from tuneledger.car.sheets import calibration, to_toml
from tuneledger.car.vehicle import KESTREL, Day
from tuneledger.car.vocabulary import names, words
from tuneledger.signals import SIGNALS

RATE_HZ = 50
_AT_ONCE = 4096  # rows written in one go
READ = (
    "engine speed",
    "manifold absolute pressure",
    "throttle position",
    "intake air temperature",
    "idle speed target",
    "wet",
)
_WET_ABOVE = 62.0
LEGS = (
    Leg("idle", 5),
    Leg("launch", 1.2, 100),
    Leg("pedal", 14, 100),
    Leg("brake", 2, lateral=0.4),
    Leg("pedal", 4, 35, lateral=0.9),
    Leg("pedal", 9, 90),
    Leg("coast", 3),
    Leg("brake", 3.5),
    Leg("idle", 6),
)


def write_big(
    folder: Path,
    samples: int = 90_000,
    channels: int = 150,
    seed: int = 5,
    *,
    sheets: str = "D",
    rate_hz: int = RATE_HZ,
) -> list[Path]:
    """Write `big.csv` and its sheets `rev-d.toml`, … into a folder; gives the paths, log first.

    channels: columns, time included, ten or more
    rate_hz:  samples in a second, a whole part of 1000
    sheets:   revisions to hand over, the one that is said to run first. D is what the car runs: a
              hot-air and a rain correction and an idle governor make it worth reconciling. C does
              not know the rain, B has another map besides; with C alone the rain is a hidden rule.
    """
    rng = np.random.default_rng(seed)
    called = names("formal", list(words()), rng)
    plan = Plan(KESTREL, Day(air_c=29.0, soak_c=25.0, climb=0.05), LEGS, seed=seed)
    bench = Bench(rng, KESTREL, drive(plan, Ecu(calibration(_bare(rng)))), called)
    air, wet, idle = make.air(bench), make.wet(bench), make.idle(bench)
    # Apart from every pedal that is held: what a log leaves open at a threshold is not asked here.
    wet["when"] = [wet["when"][0], {**wet["when"][1], "above": _WET_ABOVE}]
    bare = _bare(np.random.default_rng(seed)) | {"title": KESTREL.name}
    other = _bare(np.random.default_rng(seed + 1)) | {"title": KESTREL.name}
    revisions = {
        "D": _with(bare, "D", [air, wet, idle]),
        "C": _with(bare, "C", [air, idle]),
        "B": _with(other, "B", [air, idle]),
    }
    dress = Dress("formal", rate_hz, units_in="(", taste={"kPa": "psi", "degC": "degF"})
    columns = _columns(rng, called, dress, channels)
    sources = {c.name: (c.key, own_unit(c.key), c.unit) for c in columns}
    plan = replace(plan, channels=sources, switches=dict(bench.switches))
    run = drive(plan, Ecu(calibration(revisions["D"]), fresh=True))
    add(run, [c.key for c in columns if c.key in DISTRACTORS], seed)
    _copies(run, columns, rng)
    folder.mkdir(parents=True, exist_ok=True)
    log = folder / "big.csv"
    stretch = write_log(run, columns, dress, seed).data
    _write_repeated(log, stretch, columns, samples, rate_hz, seed)
    files = [folder / f"rev-{name.lower()}.toml" for name in sheets]
    for name, file in zip(sheets, files, strict=True):
        file.write_text(to_toml(revisions[name]), encoding="utf-8")
    return [log, *files]


def _bare(rng: np.random.Generator) -> dict[str, Any]:
    return {"revision": "D", "spark": {"map": random_map(rng, KESTREL, "pressure")}}


def _with(
    sheet: dict[str, Any], revision: str, corrections: list[dict[str, Any]]
) -> dict[str, Any]:
    spark = sheet["spark"] | {"correction": corrections}
    return sheet | {"revision": revision, "spark": spark}


def _columns(
    rng: np.random.Generator, called: dict[str, str], dress: Dress, count: int
) -> list[Column]:
    """What the sheet reads, every signal, every distractor, then unlike copies of those."""
    keys = list(dict.fromkeys([*SPARK, *READ, *SIGNALS, "pass", "launch", *DISTRACTORS]))
    keys.remove("time")
    time = Column("time", called["time"], "s", "s", 0.001, 3)
    columns = [time, *(column_for(k, called[k], dress, rng, 0.25) for k in keys)]
    copies = [
        c for c in columns if c.key in DISTRACTORS and not c.switch and c.unit == own_unit(c.key)
    ]
    number = 2
    while len(columns) < count:
        like = copies[len(columns) % len(copies)]
        columns.append(
            replace(like, key=f"{like.key} copy {number}", name=f"{like.name} bank {number}")
        )
        number += 1
    return columns[:count]


def _copies(run: Run, columns: list[Column], rng: np.random.Generator) -> None:
    for c in columns:
        if " copy " in c.key:
            like = run.columns[c.key.split(" copy ")[0]]
            scale = float(rng.uniform(0.9, 1.1))
            run.columns[c.key] = scale * like + rng.normal(0.0, c.step, like.size)


def _write_repeated(
    log: Path, data: bytes, columns: Sequence[Column], rows: int, rate_hz: int, seed: int
) -> None:
    """The log of so many rows: the same again and again, with a time that goes on."""
    rng = np.random.default_rng(seed)
    stretch = pl.read_csv(data, infer_schema=False)
    time, *headers = stretch.columns
    lively = [
        (header, column.step, column.decimals)
        for header, column in zip(headers, columns[1:], strict=True)
        if column.key.split(" copy ")[0] in DISTRACTORS and not column.switch
    ]
    with log.open("wb") as file:
        for first in range(0, rows, _AT_ONCE):
            at = np.arange(first, min(first + _AT_ONCE, rows))
            some = stretch[at % stretch.height].with_columns(
                pl.Series(time, at / rate_hz).round(3),
                *(
                    (pl.col(name).cast(pl.Float64) + step * pl.Series(rng.integers(-1, 2, at.size)))
                    .round(decimals)
                    .alias(name)
                    for name, step, decimals in lively
                ),
            )
            some.write_csv(file, include_header=first == 0)
