"""Open a calibration sheet."""

from pathlib import Path

from tuneledger.calibrations.asam.tell import FIRST, SAYS, told
from tuneledger.calibrations.check import check
from tuneledger.calibrations.detect import looks_like_sheet
from tuneledger.calibrations.model import FORMAT, Calibration
from tuneledger.calibrations.text import decode, parse, read_bytes
from tuneledger.errors import Fault, SheetError


def open_calibration(path: str | Path, *, name: str | None = None) -> Calibration:
    """The calibration that a sheet holds. `name`: how faults call the file, if not by its path.

    Raises SheetError with every fault of the file at once: that it cannot be read, the line and
    column where it is not TOML, or the path to everything in it that CONTRACT section 2 does not
    allow. Nothing is half read.
    """
    file = name or str(path)
    data = read_bytes(path, file)
    try:
        raw = parse(decode(data, file), file)
    except SheetError:
        if data.strip() and not looks_like_sheet(data):
            raise SheetError(_no_sheet(file, data)) from None
        raise
    try:
        return check(raw, file)
    except SheetError:
        from tuneledger.calibrations.asam.mapping.detect import names_any

        if names_any(raw):
            raise SheetError(_a_mapping(file)) from None
        raise


def _a_mapping(file: str) -> Fault:
    return Fault(
        "this is a mapping: a control unit's names stand in it where a sheet has numbers",
        file=file,
        do="`tuneledger sheet from` makes a sheet of it, with the description and its image, or "
        "with a file of ASAM CDF; so does the desk.",
    )


def _no_sheet(file: str, data: bytes) -> Fault:
    kind = told(data)
    return Fault(
        f"this is {SAYS[kind]}" if kind else "this is not a calibration sheet",
        file=file,
        expected=f'TOML that begins with format = "{FORMAT}"',
        do=FIRST if kind else "If it is a log: `tuneledger look FILE` shows what is in it.",
    )
