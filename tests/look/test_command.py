"""`tuneledger look`, as it is called."""

import json
from pathlib import Path

import pytest

from tests.logs.writing import plain
from tests.shared import SHARED, needs_cases, needs_data
from tuneledger.cli.main import run


@pytest.fixture(autouse=True)
def no_memory(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TUNELEDGER_HOME", str(tmp_path / "home"))


def test_a_log_is_shown_with_its_signals(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status = run(["look", str(plain(tmp_path / "climb.csv", units="square"))])

    shown = capsys.readouterr()
    assert status in (0, 1)
    assert shown.err == ""
    assert shown.out.startswith("climb.csv: 1.2 s, 60 samples at 50 Hz, 5 channels")
    assert "\x1b" not in shown.out


def test_the_same_as_json_on_request(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = plain(tmp_path / "climb.csv", units="square")
    run(["look", str(log), "--json", str(tmp_path / "look.json")])
    written = json.loads((tmp_path / "look.json").read_text())
    capsys.readouterr()
    run(["look", str(log), "--json", "-"])

    assert json.loads(capsys.readouterr().out) == written
    assert written["format"] == "tuneledger-look/1"


def test_a_roles_file_overrules(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = plain(tmp_path / "climb.csv", units="square")
    roles = tmp_path / "roles.toml"
    roles.write_text('format = "tuneledger-roles/1"\n[roles]\n"oil pressure" = "Rev"\n')

    run(["look", str(log), "--roles", str(roles), "--json", "-"])

    channels = json.loads(capsys.readouterr().out)["channels"]
    assert next(c for c in channels if c["name"] == "Rev")["signal"] == "oil pressure"


def test_what_is_no_log_ends_in_status_2_with_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "run.csv"
    bad.write_text("Time,Rev\n")

    assert run(["look", str(bad), "--json", str(tmp_path / "out.json")]) == 2
    assert run(["look", str(tmp_path)]) == 2
    assert run(["look", str(tmp_path / "gone.csv")]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "there is a header row but no samples" in told.err
    assert "Traceback" not in told.err
    assert not (tmp_path / "out.json").exists()


@needs_data
def test_the_open_obd_logs_are_identified_without_a_roles_file(
    capsys: pytest.CaptureFixture[str],
) -> None:
    # Open carOBD data set, IEEE document 8891367; its columns are named after SAE J1979.
    expected = {
        "ENGINE_RPM": "engine speed",
        "TIMING_ADVANCE": "delivered advance",
        "COOLANT_TEMPERATURE": "engine coolant temperature",
        "INTAKE_AIR_TEMP": "intake air temperature",
        "VEHICLE_SPEED": "vehicle speed",
    }
    for path in sorted(SHARED.glob("data/logs/*.csv")):
        run(["look", str(path), "--no-memory", "--json", "-"])
        channels = json.loads(capsys.readouterr().out)["channels"]
        for channel in channels:
            # In the log of an idling car the road speed never changes; it may stay unnamed there.
            told = channel["signal"] is not None or not channel["stuck"]
            if channel["name"] in expected and told:
                assert channel["signal"] == expected[channel["name"]], (path.name, channel)


@needs_data
def test_steps_of_sae_j1979_are_found_in_the_open_obd_logs(
    capsys: pytest.CaptureFixture[str],
) -> None:
    # SAE J1979: engine speed in quarters of 1/min, percent as a byte of 100/255, fuel trim as a
    # byte of 100/128, speed and temperatures in whole units.
    path = SHARED / "data/logs/carobd_drive12.csv"
    run(["look", str(path), "--no-memory", "--json", "-"])
    steps = {c["name"]: c["step"] for c in json.loads(capsys.readouterr().out)["channels"]}

    assert steps["ENGINE_RPM"] == pytest.approx(0.25)
    for name in ("THROTTLE", "ENGINE_LOAD", "PEDAL_D", "COMMANDED_THROTTLE_ACTUATOR"):
        assert steps[name] == pytest.approx(100 / 255, rel=1e-3)
    assert steps["SHORT_TERM_FUEL_TRIM_BANK_1"] == pytest.approx(100 / 128, rel=1e-3)
    assert steps["VEHICLE_SPEED"] == steps["COOLANT_TEMPERATURE"] == 1.0


@needs_cases
def test_every_shared_case_is_shown(capsys: pytest.CaptureFixture[str]) -> None:
    for path in sorted(SHARED.glob("cases/*/log.csv"))[::4]:
        assert run(["look", str(path), "--no-memory"]) in (0, 1)
        shown = capsys.readouterr()
        assert shown.err == ""
        assert "delivered advance" in shown.out
