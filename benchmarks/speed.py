"""What reconciling costs, against a bare read of the same file in a fresh process.

    python -m benchmarks.speed --write docs/speed.md
    python -m benchmarks.speed --quick

Every figure is the median of several fresh processes, the two commands in turn.
"""

import argparse
import compileall
import os
import sys
import tempfile
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

from benchmarks.forms import NAMES, bare_read, converted
from benchmarks.processes import Command, Cost, compare
from benchmarks.speed_page import Growth, Kind, Speed, page, print_speed, write_curves
from benchmarks.tools import installed

SAMPLES, CHANNELS = 90_000, 150
SAMPLES_GROWN = (10_000, 20_000, 40_000, 80_000, 160_000)
CHANNELS_GROWN = (20, 50, 100, 150, 200, 300)
# Sheets handed over, the first of which is said to run; the car runs D (see `car.big`).
KINDS = {"one sheet": "D", "three sheets, the second runs": "CDB", "a hidden rule": "C"}
FOUND = (0, 1)  # exit statuses of a statement that could be made

EMPTY_CLICK = """
import click
@click.group()
def main() -> None:
    "Nothing."
main(["--help"])
"""


@dataclass(frozen=True)
class Big:
    """A generated log on disk with its sheets, the first of which the car is said to run."""

    log: Path
    sheets: tuple[Path, ...]


def generate(
    folder: Path, samples: int, channels: int, sheets: str = "D", rate_hz: int = 50
) -> Big:
    """A log of that size with sheets of those revisions, some channels in psi and degF.

    It is made in a process apart: a child starts as large as its parent, which must stay small for
    the peak memory of what is measured to be its own.
    """
    from tuneledger.car.big import write_big

    folder.mkdir(parents=True, exist_ok=True)
    with ProcessPoolExecutor(max_workers=1) as apart:
        made = apart.submit(write_big, folder, samples, channels, sheets=sheets, rate_hz=rate_hz)
        log, *files = made.result()
    return Big(log, tuple(files))


def tuneledger(*words: str) -> Command:
    return [installed("tuneledger"), *words]


def reconcile(big: Big) -> Command:
    return tuneledger("reconcile", str(big.log), *map(str, big.sheets), "--no-memory")


def pair(big: Big, rounds: int) -> tuple[Cost, Cost]:
    """The cost of a bare read and of reconciling."""
    costs = compare({"read": bare_read(big.log), "reconcile": reconcile(big)}, rounds, FOUND)
    return costs["read"], costs["reconcile"]


def grow(folder: Path, sizes: Sequence[tuple[int, int]], rounds: int) -> list[Growth]:
    out = []
    for samples, channels in sizes:
        big = generate(folder / f"{samples}x{channels}", samples, channels)
        out.append(Growth(samples, channels, *pair(big, rounds)))
        big.log.unlink()
    return out


def compiled() -> None:
    """Compile the package, as installing it does; an edited source would cost each start anew."""
    import tuneledger as package

    compileall.compile_dir(str(Path(str(package.__file__)).parent), quiet=1)


def measure(folder: Path, rounds: int, *, growth: bool = True) -> Speed:
    """All measurements, files made below `folder`."""
    compiled()
    kinds: list[Kind] = []
    forms: list[Kind] = []
    for kind, sheets in KINDS.items():
        big = generate(folder / "big", SAMPLES, CHANNELS, sheets)
        kinds.append(Kind(kind, *pair(big, rounds)))
        megabytes = big.log.stat().st_size / 1e6
        if not forms:
            others = [converted(big.log, suffix) for suffix in (".parquet", ".mf4")]
            forms = [
                Kind(NAMES[log.suffix], *pair(replace(big, log=log), rounds)) for log in others
            ]
        big.log.unlink()
    starts = compare(
        {"click": [sys.executable, "-c", EMPTY_CLICK], "help": tuneledger("--help")}, 2 * rounds
    )
    few = max(rounds // 2, 3)
    return Speed(
        SAMPLES,
        CHANNELS,
        megabytes,
        kinds,
        forms,
        starts["click"],
        starts["help"],
        grow(folder, [(n, CHANNELS) for n in SAMPLES_GROWN], few) if growth else [],
        grow(folder, [(SAMPLES, n) for n in CHANNELS_GROWN], few) if growth else [],
        rounds,
        os.getloadavg()[1],
    )


def main() -> None:
    """Measure, print, and write the page where asked."""
    parser = argparse.ArgumentParser(description="Measure time and memory.")
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--quick", action="store_true", help="three rounds, no growth")
    parser.add_argument("--write", type=Path, metavar="PAGE.md", help="write the page of the docs")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        speed = measure(Path(folder), 3 if given.quick else given.rounds, growth=not given.quick)
    print_speed(speed)
    if given.write:
        curves = given.write.with_suffix(".svg")
        write_curves(speed, curves)
        given.write.write_text(page(speed, curves.name), encoding="utf-8")
        print(f"Written: {given.write}, {curves}")


if __name__ == "__main__":
    main()
