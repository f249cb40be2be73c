"""The sheet that one starts from is valid, and so is every example in it once it is uncommented."""

import re

from tests.calibrations.sheets import faults_of, sheet_of
from tuneledger.calibrations.starting_point import starting_point


def uncommented(text: str) -> str:
    """The text with every example made real: lines with a sign that no blank follows."""
    return re.sub(r"^#(?! )(?=\S)|^#(?=  \S)", "", text, flags=re.MULTILINE)


def test_it_is_without_fault_as_it_stands() -> None:
    calibration = sheet_of(starting_point())
    assert not calibration.spark.complete
    assert not calibration.spark.correction
    assert {cell for row in calibration.spark.map.values or () for cell in row} == {"?"}


def test_so_is_every_example_in_it() -> None:
    text = uncommented(starting_point())
    assert faults_of(text) == []
    calibration = sheet_of(text)
    assert len(calibration.spark.correction) == starting_point().count("[[spark.correction]]")
    assert calibration.engine.redline_rpm
    assert calibration.spark.limits


def test_no_example_fits_a_line_of_a_terminal_badly() -> None:
    assert max(len(line) for line in starting_point().splitlines()) <= 100
