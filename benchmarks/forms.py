"""A big log in other formats, and a plain read of each by the library that its format calls for.

Every process here may take as much memory as it likes; what is measured runs apart from it.
"""

import sys
import warnings
from pathlib import Path

import polars as pl

from benchmarks.processes import Command, run_once

_ROWS_AT_ONCE = 100_000

_TEXT = "import sys, polars; polars.read_csv(sys.argv[1], infer_schema=False)"
_PARQUET = "import sys, polars; polars.read_parquet(sys.argv[1])"
# sympy is there for the tests' second reader only; whoever installs asammdf alone goes without.
_MDF = """
import sys
sys.modules["sympy"] = None
from asammdf import MDF
with MDF(sys.argv[1]) as mdf:
    read = [
        mdf.select([(None, g, i) for i in range(len(group.channels))])
        for g, group in enumerate(mdf.groups)
    ]
"""
READS = {".csv": _TEXT, ".parquet": _PARQUET, ".mf4": _MDF}
SAYS = {
    ".csv": "polars reads every column as text",
    ".parquet": "polars reads every column",
    ".mf4": "asammdf reads every channel of every group",
}
NAMES = {".csv": "delimited text", ".parquet": "Parquet", ".mf4": "MDF 4"}


def bare_read(log: Path) -> Command:
    """A fresh process that reads all of a log and does nothing with it."""
    return [sys.executable, "-c", READS[log.suffix], str(log)]


def converted(log: Path, suffix: str) -> Path:
    """The same log beside it in another format; made in a process apart."""
    run_once([sys.executable, "-m", "benchmarks.forms", str(log), suffix])
    return log.with_suffix(suffix)


def _convert(log: Path, suffix: str) -> None:
    scan = pl.scan_csv(log, infer_schema=False).cast(pl.Float64)
    if suffix == ".parquet":
        scan.sink_parquet(log.with_suffix(suffix))
        return
    from asammdf import MDF, Signal

    warnings.simplefilter("ignore")
    (time, *names), rows = scan.collect_schema().names(), scan.select(pl.len()).collect().item()
    with MDF(version="4.10") as mdf:
        for first in range(0, rows, _ROWS_AT_ONCE):
            part = scan.slice(first, _ROWS_AT_ONCE).collect()
            times, values = part[time].to_numpy(), [part[name].to_numpy() for name in names]
            if first:
                mdf.extend(0, [(times, None), *((one, None) for one in values)])
                continue
            signals = [
                Signal(one, times, name=name.partition(" (")[0], unit=_unit(name))
                for name, one in zip(names, values, strict=True)
            ]
            mdf.append(signals, common_timebase=True)
        mdf.save(log.with_suffix(suffix), overwrite=True)


def _unit(header: str) -> str:
    return header.partition(" (")[2].rstrip(")")


if __name__ == "__main__":
    _convert(Path(sys.argv[1]), sys.argv[2])
