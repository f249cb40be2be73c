"""A calibration written as a sheet reads back as the same calibration, and compares by lines."""

import difflib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.calibrations.sheets import MAP, TOP, sheet_of, with_corrections
from tests.shared import SHARED, needs_cases
from tests.strategies import calibrations
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.paths import put
from tuneledger.calibrations.write import to_toml


@settings(deadline=None, max_examples=60)
@given(calibrations())
def test_what_is_written_reads_back_as_the_same(calibration: Calibration) -> None:
    text = to_toml(calibration)
    again = sheet_of(text)
    assert again == calibration
    assert to_toml(again) == text


@given(st.text(st.characters(codec="utf-8")))
def test_any_text_survives(text: str) -> None:
    calibration = put(sheet_of(TOP + MAP), "notes", text)
    assert sheet_of(to_toml(calibration)).notes == text


@pytest.mark.parametrize("code", ["\u202e", "\u2066", "\u200b", "\x85", "\ufeff", "\U000e0041"])
def test_what_nobody_sees_is_written_by_its_number(code: str) -> None:
    calibration = put(sheet_of(TOP + MAP), "title", f"Boost{code}kPa")
    text = to_toml(calibration)
    assert code not in text
    assert sheet_of(text) == calibration


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_number_survives_to_the_last_bit(number: float) -> None:
    calibration = put(sheet_of(TOP + MAP), "spark.map.amount", number)
    axis = {"signal": "engine speed", "at": [number]}
    calibration = put(calibration, "spark.correction", [{"id": "a", "axes": [axis], "values": [1]}])
    again = sheet_of(to_toml(calibration))
    for found in (again.spark.map.amount, again.spark.correction[0].axes[0].at[0]):
        assert repr(found) == repr(float(number))


def test_a_sheet_reads_like_one_that_a_person_keeps() -> None:
    body = (
        'id = "wet-road"\ntitle = "Wet road"\nreason = "driver switch"\n'
        'axes = [{unit = "rpm", signal = "engine speed", at = [900.0, 7000]},'
        '{channel = "Slip", at = [0, 2.5]}]\nvalues = [[0, "?"], [-1, -2]]\n'
        'when = [{is = "on", channel = "Wet"}, {any = [{release = 50, above = 55, signal = '
        '"throttle position"}]}]\nramp = {up = 4, down = 2}\n'
    )
    text = with_corrections(body).replace(MAP, 'notes = "one\\ntwo"\n' + MAP)
    assert to_toml(sheet_of(text)) == (
        'format = "tuneledger-calibration/1"\n'
        'revision = "A"\n'
        'notes = """\n'
        "one\n"
        'two"""\n'
        "\n"
        "[spark]\n"
        "complete = true\n"
        "\n"
        "[spark.map]\n"
        "amount = 20.0\n"
        "\n"
        "[[spark.correction]]\n"
        'id = "wet-road"\n'
        'title = "Wet road"\n'
        'reason = "driver switch"\n'
        "enabled = true\n"
        "axes = [\n"
        '  { signal = "engine speed", unit = "rpm", at = [900, 7000] },\n'
        '  { channel = "Slip", at = [0, 2.5] },\n'
        "]\n"
        "values = [\n"
        '  [0.0, "?"],\n'
        "  [-1.0, -2.0],\n"
        "]\n"
        "ramp = { down = 2.0, up = 4.0 }\n"
        "when = [\n"
        '  { channel = "Wet", is = "on" },\n'
        '  { any = [{ signal = "throttle position", above = 55, release = 50 }] },\n'
        "]\n"
    )


def test_one_cell_more_or_less_changes_one_line() -> None:
    cells = "[[1, 2, 3], [4, 5, 6], [7, 8, 9]]"
    axis = '{signal = "engine speed", at = [1, 2, 3]}'
    before = sheet_of(with_corrections(f"axes = [{axis}, {axis}]\nvalues = {cells}"))
    after = put(before, "spark.correction.c0.values[1][1]", 5.5)
    lines = difflib.unified_diff(to_toml(before).splitlines(), to_toml(after).splitlines(), n=0)
    assert [line for line in lines if line[:1] in "+-" and line[:3] not in ("+++", "---")] == [
        "-  [4.0, 5.0, 6.0],",
        "+  [4.0, 5.5, 6.0],",
    ]


SHEETS = sorted((SHARED / "cases").glob("*/*.toml"))


@needs_cases
@pytest.mark.parametrize("path", SHEETS, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_the_shared_sheets_survive(path: Path) -> None:
    calibration = open_calibration(path)
    assert sheet_of(to_toml(calibration)) == calibration
