"""Roles on the shared cases and open data: right where needed, never sure and wrong."""

import json
from functools import cache
from pathlib import Path

import pytest

from tests.shared import SHARED, needs_cases, needs_data
from tuneledger.calibrations import open_calibration
from tuneledger.logs import open_log
from tuneledger.roles import Roles, identify

CASES = sorted(p.name for p in (SHARED / "cases").glob("*") if p.is_dir())
OPEN_LOGS = sorted((SHARED / "data" / "logs").glob("*.csv"))


@cache
def found(case: str) -> tuple[dict[str, str], list[str], Roles]:
    """(true signal → channel, signals that the case needs, what was identified)."""
    folder = SHARED / "cases" / case
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    sheets = [open_calibration(folder / name) for name in truth["calibrations"]]
    roles = identify(open_log(folder / truth["log"]["file"]), sheets=sheets)
    right = {signal: role["channel"] for signal, role in truth["roles"].items()}
    return right, truth["roles_needed"], roles


@needs_cases
@pytest.mark.parametrize("case", CASES)
def test_no_signal_is_given_to_a_wrong_channel(case: str) -> None:
    right, _, roles = found(case)
    given = {s: role.channel.name for s, role in roles.by_signal.items() if s in right}
    assert given == {s: right[s] for s in given}


@needs_cases
@pytest.mark.parametrize("case", CASES)
def test_every_signal_that_the_case_needs_is_found(case: str) -> None:
    right, needed, roles = found(case)
    assert {s for s in needed if s in right and roles.get(s) is None} == set()


@needs_cases
@pytest.mark.parametrize("case", CASES)
def test_an_advance_that_is_not_logged_is_not_made_up(case: str) -> None:
    right, _, roles = found(case)
    for signal in ("scheduled advance", "delivered advance"):
        if signal not in right:
            assert roles.get(signal) is None


@needs_data
@pytest.mark.parametrize("path", OPEN_LOGS, ids=lambda p: p.stem)
def test_open_obd_logs_are_identified_without_a_roles_file(path: Path) -> None:
    # the open carOBD data set (IEEE document 8891367), names after SAE J1979
    roles = identify(open_log(path))
    names = {signal: role.channel.name for signal, role in roles.by_signal.items()}
    expected = {
        "engine speed": "ENGINE_RPM",
        "vehicle speed": "VEHICLE_SPEED",
        "throttle position": "THROTTLE",
        "engine load": "ENGINE_LOAD",
        "engine coolant temperature": "COOLANT_TEMPERATURE",
        "intake air temperature": "INTAKE_AIR_TEMP",
        "manifold absolute pressure": "INTAKE_MANIFOLD_PRESSURE",
        "barometric pressure": "ABSOLUTE_BAROMETRIC_PRESSURE",
        "accelerator position": "PEDAL_D",
        "delivered advance": "TIMING_ADVANCE",
        "module voltage": "CONTROL_MODULE_VOLTAGE",
    }
    assert {s: n for s, n in names.items() if s in expected} == {
        s: n for s, n in expected.items() if s in names
    }
    assert set(expected) - set(names) == set()
    assert "scheduled advance" not in names


@needs_cases
def test_engine_speed_and_throttle_are_found_without_a_sheet_as_well() -> None:
    """What runs narrowly under a like name takes nothing from the one that runs through all."""
    lost = []
    for case in sorted((SHARED / "cases").glob("*-*")):
        truth = json.loads((case / "truth.json").read_text(encoding="utf-8"))
        roles = identify(open_log(case / truth["log"]["file"]))
        lost += [
            (case.name, signal)
            for signal in ("engine speed", "throttle position")
            if signal in truth["roles"] and roles.get(signal) is None
        ]
    assert not lost
