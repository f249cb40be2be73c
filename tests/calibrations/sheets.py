"""Short sheets for tests: a beginning, a map, corrections, and what a check says of them."""

from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.text import parse
from tuneledger.errors import SheetError

TOP = 'format = "tuneledger-calibration/1"\nrevision = "A"\n'
MAP = "[spark.map]\namount = 20\n"
RPM = 'signal = "engine speed", unit = "rpm"'


def sheet_of(text: str) -> Calibration:
    return check(parse(text, "rev-a.toml"), "rev-a.toml")


def faults_of(text: str) -> list[str]:
    """Every fault of a sheet's text, without the file's name; none where it is valid."""
    try:
        sheet_of(text)
    except SheetError as error:
        return [str(fault).removeprefix("rev-a.toml: ") for fault in error.faults]
    return []


def with_corrections(*bodies: str) -> str:
    """A sheet with a map and corrections; a body without an id gets one."""
    parts = [
        body if "id =" in body else f'id = "c{index}"\n{body}' for index, body in enumerate(bodies)
    ]
    return TOP + MAP + "".join(f"[[spark.correction]]\n{part}\n" for part in parts)


def faults_in(*bodies: str) -> list[str]:
    """Every fault of corrections, with paths from the first correction on."""
    return [
        fault.removeprefix("spark.correction[0].") for fault in faults_of(with_corrections(*bodies))
    ]


def faults_when(condition: str) -> list[str]:
    """Every fault of one condition of a correction, with paths from the condition on."""
    found = faults_in(f"amount = -4\nwhen = [{condition}]")
    return [fault.removeprefix("when[0]").removeprefix(".").removeprefix(": ") for fault in found]
