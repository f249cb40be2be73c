"""Open a calibration sheet."""

from pathlib import Path

from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.text import parse, read_text


def open_calibration(path: str | Path) -> Calibration:
    """The calibration that a sheet holds.

    Raises SheetError with every fault of the file at once: that it cannot be read, the line and
    column where it is not TOML, or the path to everything in it that CONTRACT section 2 does not
    allow. Nothing is half read.
    """
    file = str(path)
    return check(parse(read_text(path), file), file)
