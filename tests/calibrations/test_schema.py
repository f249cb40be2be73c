"""The JSON Schema is the model's, takes what the check takes, and refuses what it can."""

import json
import tomllib
from datetime import date, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from jsonschema import Draft202012Validator

from tests.calibrations.sheets import MAP, RPM, TOP, faults_of, with_corrections
from tests.shared import SHARED, needs_cases
from tests.strategies import calibrations
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.schema import schema_text
from tuneledger.calibrations.write import to_toml

SCHEMA = files("tuneledger.calibrations").joinpath("sheet.schema.json").read_text(encoding="utf-8")
VALIDATOR = Draft202012Validator(json.loads(SCHEMA))


def as_json(value: Any) -> Any:
    """A TOML tree as JSON has it: dates are text."""
    if isinstance(value, dict):
        return {key: as_json(item) for key, item in value.items()}
    if isinstance(value, list):
        return [as_json(item) for item in value]
    return value.isoformat() if isinstance(value, datetime | date) else value


def takes(text: str) -> bool:
    return VALIDATOR.is_valid(as_json(tomllib.loads(text)))


def test_the_file_is_what_the_command_makes_of_the_model() -> None:
    assert schema_text() == SCHEMA, "run python -m tuneledger.calibrations.schema"


def test_it_is_a_schema() -> None:
    Draft202012Validator.check_schema(json.loads(SCHEMA))


@settings(deadline=None, max_examples=25)
@given(calibrations())
def test_it_takes_what_the_check_takes(calibration: Calibration) -> None:
    assert takes(to_toml(calibration))


@needs_cases
@pytest.mark.parametrize("path", sorted((SHARED / "cases").glob("*/*.toml")), ids=str)
def test_it_takes_the_shared_sheets(path: Path) -> None:
    assert takes(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    "body",
    [
        "amount = '3'",
        "amount = true",
        "amount = 1\nenabeld = true",
        "amount = 1\nreason = 'heat'",
        "amount = 1\neffect = 'multiply'",
        "amount = 1\nvalues = [1]",
        f"axes = [{{{RPM}, at = [1]}}]",
        "values = [1, 2]",
        f"axes = [{{{RPM}, at = [1]}}]\nvalues = [[[['?']]]]",
        f"axes = [{{{RPM}, at = [1]}}]\nvalues = ['x']",
        "amount = 1\nwhen = [{signal = 'engine sped', above = 3}]",
        "amount = 1\nwhen = [{channel = 'a', signal = 'gear', above = 3}]",
        "amount = 1\nwhen = [{channel = 'a', above = 3, below = 4}]",
        "amount = 1\nwhen = [{channel = 'a'}]",
        "amount = 1\nwhen = [{channel = 'a', between = [1]}]",
        "amount = 1\nwhen = [{any = []}]",
        "amount = 1\nwhen = [{correction = 'a'}]",
        "amount = 1\nuntil = 'switched off'",
        "amount = 1\nramp = 0",
        "amount = 1\nramp = {down = 1}",
        "amount = 1\nrange = [1]",
    ],
)
def test_what_it_refuses_the_check_refuses_too(body: str) -> None:
    text = with_corrections(body)
    assert not takes(text)
    assert faults_of(text)


def test_a_sheet_without_map_or_format_is_refused() -> None:
    assert takes(TOP + MAP)
    assert not takes(TOP)
    assert not takes(MAP)
