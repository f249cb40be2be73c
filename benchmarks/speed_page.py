"""The page docs/speed.md and its curves."""

import os
import platform
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from benchmarks.curve import BLUE, ORANGE, Chart, Line, charts
from benchmarks.processes import Cost
from benchmarks.report import table

TIME_BUDGET, MEMORY_BUDGET, HELP_BUDGET = 2.0, 1.5, 1.3
RULE_BUDGET = 4.0  # time where something is left over and a rule is sought in all channels

HEAD = """\
# Speed

Written by `make bench`; do not edit. Measured on {day} with tuneledger {version}, Python {python},
{cores} cores.

Every figure is the median of {rounds} fresh processes, the commands in turn on the same machine;
memory is the peak resident size of the process. The yardstick is a fresh process that imports
polars and reads every column of the same file as text, which is the least that any answer costs; of
Parquet it reads every column, of MDF 4 asammdf reads every channel. [Big logs](big-logs.md) have a
page of their own.
{busy}

## {samples:,} samples × {channels} channels ({megabytes:.0f} MB)

{main}

Three sheets: the first, which is said to run, lacks a correction; the second is what the car runs;
the third has another map. The hidden rule: only the first of those three is there. Parquet and
MDF 4: one sheet, the same log in that format. The drive repeats itself; what no sheet reads differs
by a step from row to row, as it does in a log, so that Parquet cannot pack it unusually small.

## Growth

Processor time, which other work on the machine disturbs least:

![Processor time against samples and against channels]({curves})

### With samples, {channels} channels

{by_samples}

A straight line through the processor time of `reconcile` leaves {bent_samples} of its spread.

### With channels, {samples:,} samples

{by_channels}

A straight line through the processor time of `reconcile` leaves {bent_channels} of its spread.
"""

BUSY = """
The machine was busy with other work meanwhile (load average {load:.1f}), so that times by the wall
clock are longer and less steady than on a quiet one."""


@dataclass(frozen=True, slots=True)
class Growth:
    """One size and what it costs."""

    samples: int
    channels: int
    read: Cost
    reconcile: Cost


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of job, at full size, and what it costs."""

    name: str
    read: Cost
    reconcile: Cost

    @property
    def time_budget(self) -> float:
        return RULE_BUDGET if "rule" in self.name else TIME_BUDGET


@dataclass(frozen=True, slots=True)
class Speed:
    """All that was measured."""

    samples: int
    channels: int
    megabytes: float
    kinds: Sequence[Kind]
    forms: Sequence[Kind]  # one sheet, the log in another format
    click: Cost
    help: Cost
    by_samples: Sequence[Growth]
    by_channels: Sequence[Growth]
    rounds: int
    load: float  # load average of the machine while it was measured


def bend(sizes: Sequence[Growth], key: str) -> str:
    """What a straight line leaves of the spread of processor time, in per cent."""
    if len(sizes) < 3:
        return "nothing"
    x = [float(getattr(one, key)) for one in sizes]
    r = np.corrcoef(x, [one.reconcile.cpu for one in sizes])[0, 1]
    return f"{100 * (1 - r * r):.1f} %"


def main_table(speed: Speed) -> str:
    """The budgets and whether they hold."""
    rows = []
    for kind in (*speed.kinds, *speed.forms):
        read, whole = kind.read, kind.reconcile
        rows += [
            _row(f"{kind.name}: time", whole.seconds, read.seconds, "s", kind.time_budget),
            _row("its processor time", whole.cpu, read.cpu, "s", None),
            _row("its peak memory", whole.megabytes, read.megabytes, "MB", MEMORY_BUDGET),
        ]
    help_, click = speed.help.seconds, speed.click.seconds
    rows.append(_row("`tuneledger --help`: time", help_, click, "s", HELP_BUDGET))
    return table(["", "tuneledger", "yardstick", "ratio", "budget", "holds"], rows)


def _row(what: str, own: float, other: float, unit: str, budget: float | None) -> list[str]:
    digits = 0 if unit == "MB" else 3
    ratio = own / other
    held = "·" if budget is None else "yes" if ratio <= budget else "**no**"
    return [
        what,
        f"{own:.{digits}f} {unit}",
        f"{other:.{digits}f} {unit}",
        f"{ratio:.2f}",
        "·" if budget is None else f"{budget:g}",
        held,
    ]


def growth_table(sizes: Sequence[Growth]) -> str:
    rows = [
        [
            f"{one.samples:,}",
            str(one.channels),
            f"{one.read.seconds:.2f} s",
            f"{one.reconcile.seconds:.2f} s",
            f"{one.reconcile.seconds / one.read.seconds:.2f}",
            f"{one.read.cpu:.2f} s",
            f"{one.reconcile.cpu:.2f} s",
            f"{one.reconcile.megabytes:.0f} MB",
        ]
        for one in sizes
    ]
    header = [
        "samples",
        "channels",
        "bare read",
        "reconcile",
        "ratio",
        "processor: read",
        "reconcile",
        "peak memory",
    ]
    return table(header, rows)


def print_speed(speed: Speed) -> None:
    print(main_table(speed))
    for sizes in filter(None, (speed.by_samples, speed.by_channels)):
        print("\n" + growth_table(sizes))


def write_curves(speed: Speed, path: Path) -> None:
    """Both growth curves in one SVG."""
    samples = _chart("Processor time with samples", "samples", speed.by_samples)
    channels = _chart("Processor time with channels", "channels", speed.by_channels)
    path.write_text(charts([samples, channels]), encoding="utf-8")


def _chart(title: str, label: str, sizes: Sequence[Growth]) -> Chart:
    x = [float(one.samples if label == "samples" else one.channels) for one in sizes]
    lines = [
        Line("reconcile", [one.reconcile.cpu for one in sizes], BLUE),
        Line("bare read", [one.read.cpu for one in sizes], ORANGE),
    ]
    return Chart(title, label, "s", x, lines)


def page(speed: Speed, curves: str) -> str:
    """The whole page."""
    from importlib.metadata import version

    return HEAD.format(
        day=date.today().isoformat(),
        version=version("tuneledger"),
        python=platform.python_version(),
        cores=os.cpu_count(),
        rounds=speed.rounds,
        samples=speed.samples,
        channels=speed.channels,
        megabytes=speed.megabytes,
        main=main_table(speed),
        curves=curves,
        by_samples=growth_table(speed.by_samples),
        by_channels=growth_table(speed.by_channels),
        bent_samples=bend(speed.by_samples, "samples"),
        bent_channels=bend(speed.by_channels, "channels"),
        busy=BUSY.format(load=speed.load) if speed.load > (os.cpu_count() or 1) else "",
    )
