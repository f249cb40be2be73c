"""ASAM MDF 4.10, written by asammdf: every group on its own raster, units kept."""

import warnings
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import BinaryIO

from tuneledger.errors import Fault, OutputError
from tuneledger.logs.private import PrivateFolder
from tuneledger.logs.writing.model import Table

ENDINGS = (".mf4", ".mdf")


def check_installed(path: Path) -> None:
    """Raises OutputError where the extra that writes MDF is not there."""
    if find_spec("asammdf") is None:
        raise OutputError(
            Fault(
                "this is to be an ASAM MDF file, and what writes those is not installed",
                file=str(path),
                do="Install the extra 'mdf' (pip install asammdf); or write .parquet or .csv.",
            )
        )


def write_mdf(tables: Sequence[Table], file: BinaryIO) -> None:
    """Write the tables into an open file; missing values are NaN there."""
    warnings.simplefilter("ignore")
    from asammdf import MDF, Signal

    folder = PrivateFolder()
    with MDF(version="4.10", temporary_folder=str(folder.path)) as mdf:
        for table in tables:
            signals = [
                Signal(column.values, table.times, unit=column.unit, name=column.name)
                for column in table.columns
            ]
            if signals:
                mdf.append(signals, acq_name=table.title, comment=table.title, common_timebase=True)
        whole = mdf.save(folder.path / "whole.mf4")
    with Path(whole).open("rb") as done:
        while piece := done.read(1 << 20):
            file.write(piece)
