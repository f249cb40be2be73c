"""Every example of docs/sheet-format.md is a sheet, and says what the page says of it."""

import re
from pathlib import Path

import numpy as np
import pytest

from tests.calibrations.sheets import MAP, TOP, faults_of, sheet_of
from tests.calibrations.test_strategies import features
from tuneledger.calibrations.model import EFFECTS, REASONS, Calibration, Correction
from tuneledger.calibrations.paths import get, put
from tuneledger.calibrations.write import to_toml
from tuneledger.evaluate.lookup import look_up

PAGE = (Path(__file__).parents[2] / "docs" / "sheet-format.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
BROKEN = re.findall(r"```toml broken\n(.*?)```.*?```text\n(.*?)```", PAGE, re.DOTALL)
WORKED = re.findall(
    r"```toml\n([^`]*?)```\n\n\|[^\n]*\| posts \|\n\|---\|---\|\n((?:\|.*\n)+)", PAGE
)


def completed(example: str) -> str:
    """A sheet out of an example that shows a part of one."""
    text = example if "format " in example else TOP + example
    return text if "[spark.map]" in text else f"{text}\n{MAP}"


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_example_is_a_sheet_and_survives_writing(example: str) -> None:
    text = completed(example)
    assert faults_of(text) == []
    assert sheet_of(to_toml(sheet_of(text))) == sheet_of(text)


@pytest.mark.parametrize(("example", "rows"), WORKED)
def test_a_worked_example_posts_what_the_page_says(example: str, rows: str) -> None:
    (correction,) = sheet_of(completed(example)).spark.correction
    for reading, posts in re.findall(r"\| (\S+) \| (\S+) \|", rows):
        value = look_up(correction, [np.array([float(reading)])])[0]
        assert np.isnan(value) if posts == "?" else value == pytest.approx(float(posts))


@pytest.mark.parametrize(("example", "faults"), BROKEN)
def test_a_broken_example_has_the_faults_of_the_page(example: str, faults: str) -> None:
    text = TOP + example if "[[" not in example else completed(example)
    assert faults_of(text) == faults.splitlines()


def test_the_page_shows_every_feature() -> None:
    assert len(WORKED) >= 3
    assert len(BROKEN) == 2
    shown = set().union(*(features(sheet_of(completed(example))) for example in EXAMPLES))
    read = {"signal", "channel", "since", "unit", "minus", "over", "rate"}
    compared = {"above", "below", "between", "is_", "release", "held", "linger"}
    corrected = {"weight", "until", "ramp", "expected", "logged_as", "range", "amount", "values"}
    kinds = {"AnyOf", "CorrectionActive", "Ramp", "power off", "limits", "includes", "?"}
    effects = {f"effect {effect}" for effect in EFFECTS}
    assert (read | compared | corrected | kinds | effects) - shown == set()


def test_the_page_names_every_reason_and_every_key() -> None:
    assert all(f"`{reason}`" in PAGE for reason in REASONS)
    for part in (Calibration, Correction):
        names = [field.alias or name for name, field in part.model_fields.items()]
        assert [name for name in names if f"`{name}`" not in PAGE and f"{name}" not in PAGE] == []


def test_the_python_example_does_what_it_says() -> None:
    sheet = sheet_of(completed(EXAMPLES[1]))
    eased = put(sheet, "spark.correction.charge-air.values[3]", -4.0)
    assert get(eased, "spark.correction[0].values[3]") == -4.0
