"""What logs that are too big for memory cost, beside a plain read of the same file.

    python -m benchmarks.big --write docs/big-logs.md

An hour of 200 channels at 200 Hz in each format, 2 GB of delimited text, and the growth between.
Makes some 4 GB of files in the folder for temporary ones, and removes them.
"""

import argparse
import os
import platform
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from benchmarks.forms import NAMES, SAYS, bare_read, converted
from benchmarks.processes import Cost, compare
from benchmarks.report import table
from benchmarks.speed import FOUND, Big, compiled, generate, reconcile

RATE_HZ, CHANNELS = 200, 200
HOUR = 3600 * RATE_HZ
GROWN = (HOUR // 8, HOUR // 4, HOUR // 2)
TWO_GIGABYTES = 2_160_000  # rows that make 2 GB of delimited text
PAGE = """\
# Big logs

Written by `make bench-big`; do not edit. Measured on {day} with tuneledger {version}, Python
{python}, {cores} cores, load average {load:.1f}.

Logs of {channels} channels at {rate} Hz are reconciled with a sheet. Times are {times};
memory is the peak resident size of the process, or of the process that reads MDF for it where that
is larger. A plain read is a fresh process in which

{says}

The log repeats a stretch of driving; what no sheet reads differs by a step from row to row.

{main}

MDF's reader maps its file, so that the file counts in what is resident although the system can have
that memory back at any time: {mapped}.

## Growth with samples, delimited text

{growth}

From {first} to {last}, memory grows by {per_sample:.0f} bytes for a sample of all channels:
those in use, and what is worked out of them; its text has {text:.0f}.

## Written in another format

`tuneledger convert`, and `--ledger` in every format, hold no log in memory either: a column at a
time becomes numbers, and a million cells at a time are written ([how](formats.md#out)). The numbers
lie meanwhile in the folder for temporary files, with 8 bytes for each cell.
"""


@dataclass(frozen=True, slots=True)
class Measured:
    """One log and what it costs."""

    what: str
    form: str
    samples: int
    megabytes: float
    read: Cost
    reconcile: Cost

    def row(self) -> list[str]:
        return [
            self.what,
            self.form,
            f"{self.samples:,}",
            f"{self.megabytes:,.0f} MB",
            f"{self.read.seconds:.1f} s",
            f"{self.reconcile.seconds:.1f} s",
            f"{self.read.cpu:.1f} s",
            f"{self.reconcile.cpu:.1f} s",
            f"{self.read.megabytes:,.0f} MB",
            f"{self.reconcile.megabytes:,.0f} MB",
        ]


HEADER = (
    *("log", "format", "samples", "file", "read", "reconcile", "processor: read", "reconcile"),
    *("memory: read", "reconcile"),
)


def measured(big: Big, what: str, samples: int, rounds: int) -> Measured:
    """Read and reconcile one log, in turn."""
    commands = {"read": bare_read(big.log), "reconcile": reconcile(big)}
    costs = compare(commands, rounds, FOUND)
    size = big.log.stat().st_size / 1e6
    form = NAMES[big.log.suffix]
    found = Measured(what, form, samples, size, costs["read"], costs["reconcile"])
    print(" | ".join(found.row()), flush=True)
    return found


def measure(folder: Path, rounds: int) -> tuple[list[Measured], list[Measured]]:
    """(the hour in every format and 2 GB of text, growth with samples)"""
    compiled()
    hour = generate(folder / "hour", HOUR, CHANNELS, rate_hz=RATE_HZ)
    found = []
    for suffix in NAMES:
        log = hour.log if suffix == ".csv" else converted(hour.log, suffix)
        found.append(measured(replace(hour, log=log), "an hour", HOUR, rounds))
        if suffix != ".csv":
            log.unlink()
    hour.log.unlink()
    grown = []
    for samples in (*GROWN, TWO_GIGABYTES):
        big = generate(folder / str(samples), samples, CHANNELS, rate_hz=RATE_HZ)
        what = "three hours" if samples == TWO_GIGABYTES else f"{samples / HOUR * 60:.3g} min"
        grown.append(measured(big, what, samples, rounds))
        big.log.unlink()
    found.append(grown.pop())
    return found, [*grown, found[0], found[-1]]


def page(found: Sequence[Measured], grown: Sequence[Measured], rounds: int) -> str:
    """The whole page."""
    from importlib.metadata import version

    first, last = grown[-2], grown[-1]
    more = (last.reconcile.megabytes - first.reconcile.megabytes) * 2**20
    mdf = next(one for one in found if one.form == NAMES[".mf4"])
    return PAGE.format(
        day=date.today().isoformat(),
        version=version("tuneledger"),
        python=platform.python_version(),
        cores=os.cpu_count(),
        load=os.getloadavg()[1],
        channels=CHANNELS,
        rate=RATE_HZ,
        says="\n".join(f"- {says} ({NAMES[suffix]})" for suffix, says in SAYS.items()),
        times=f"medians of {rounds}" if rounds > 1 else "of one run each",
        main=table(HEADER, [one.row() for one in found]),
        mapped=f"{mdf.megabytes:,.0f} MB of the {mdf.reconcile.megabytes:,.0f} MB above",
        growth=table(HEADER, [one.row() for one in grown]),
        first=first.what,
        last=last.what,
        per_sample=more / (last.samples - first.samples),
        text=last.megabytes * 1e6 / last.samples,
    )


def main() -> None:
    """Measure, print, and write the page where asked."""
    parser = argparse.ArgumentParser(description="Measure big logs.")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--write", type=Path, metavar="PAGE.md", help="write the page of the docs")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        found, grown = measure(Path(folder), given.rounds)
    if given.write:
        given.write.write_text(page(found, grown, given.rounds), encoding="utf-8")
        print(f"Written: {given.write}")


if __name__ == "__main__":
    main()
