"""The other answers, key by key as the contract has them: of the commands, on Kestrel's files."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tuneledger.cli.main import run

DEMO = Path(__file__).parents[2] / "demo"
LOG, REV_C, REV_D = (str(DEMO / name) for name in ("climb.csv", "rev-c.toml", "rev-d.toml"))
OFF = """format = "tuneledger-changes/1"
[[change]]
place = "spark.correction.charge-air.enabled"
to = false
"""
READINGS = "rpm,commanded,observed\n900,10,12.1\n1500,10,11.6\n2200,10,11.1\n3000,10,10.2\n"

Ask = Callable[..., dict[str, Any]]


@pytest.fixture
def ask(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Ask:
    """Runs a command with `--json` in a folder of its own; the answer, and its exit status."""
    monkeypatch.chdir(tmp_path)
    Path("off.toml").write_text(OFF, encoding="utf-8")
    Path("readings.csv").write_text(READINGS, encoding="utf-8")
    lines = Path(LOG).read_text(encoding="utf-8").splitlines(keepends=True)
    Path("first-half.csv").write_text("".join(lines[: len(lines) // 2]), encoding="utf-8")

    def asked(*call: str) -> dict[str, Any]:
        status = run([*call, "--json", "answer.json"])
        answer: dict[str, Any] = json.loads(Path("answer.json").read_text(encoding="utf-8"))
        return answer | {"exit status": status}

    return asked


def test_the_audit(ask: Ask) -> None:
    answer = ask("audit", REV_C, REV_D)
    assert list(answer) == ["format", "findings", "reach", "exit status"]
    assert answer["format"] == "tuneledger-findings/1"
    assert answer["exit status"] == 1
    for finding in answer["findings"]:
        wanted = ["check", "severity", "places", "says", "do"]
        assert list(finding) == [*wanted, "mark", "accepted"]  # the last two go beyond the contract
        assert finding["severity"] in ("danger", "fault", "doubt", "note")
        assert all(p.startswith(("rev-c.toml:", "rev-d.toml:")) for p in finding["places"])
    assert [list(reach) for reach in answer["reach"]] == [["file", "cells"]] * 2
    for cell in (cell for reach in answer["reach"] for cell in reach["cells"]):
        assert list(cell) == [
            *("at", "lowest_deg", "highest_deg", "exact", "lowest_by", "highest_by"),
        ]
        assert cell["exact"] is True
        assert len(cell["at"]) == 2
        assert cell["lowest_deg"] <= cell["highest_deg"]


def test_the_rehearsal(ask: Ask) -> None:
    answer = ask("rehearse", LOG, REV_C, "--change", "off.toml", "--ledger", "ledger.csv")
    assert list(answer) == ["format", "changes", "moved", "notes", "needs", "exit status"]
    assert answer["format"] == "tuneledger-rehearsal/1"
    assert answer["exit status"] == 1
    (change,) = answer["changes"]
    assert change == {
        "place": "spark.correction.charge-air.enabled",
        "before": True,
        "after": False,
    }
    assert all(list(cell) == ["at", "mean_deg", "seconds"] for cell in answer["moved"])
    assert answer["moved"][0]["mean_deg"] > 0.0
    assert all(isinstance(note, str) for note in answer["notes"])
    heads = Path("ledger.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
    assert heads[:4] == ["time_s", "scheduled_deg", "delivered_deg", "rehearsed_deg"]
    assert heads[-1] == "unaccounted_deg"


def test_the_proof(ask: Ask) -> None:
    answer = ask("prove", "--before", LOG, "--after", "first-half.csv", REV_C, "--no-memory")
    assert list(answer) == ["format", "causes", "new", "coverage", "exit status"]
    assert answer["format"] == "tuneledger-proof/1"
    assert answer["exit status"] == 3
    assert [list(cause) for cause in answer["causes"]] == [["before", "state", "says"]] * 2
    assert [cause["before"] for cause in answer["causes"]] == [1, 2]
    assert [cause["state"] for cause in answer["causes"]] == ["not shown", "remains"]
    assert answer["new"] == []
    assert 0.0 < answer["coverage"] < 0.6


def test_the_timing_light(ask: Ask) -> None:
    answer = ask("light", "readings.csv")
    assert list(answer) == [
        *("format", "offset_deg", "offset_interval_deg", "delay_us", "delay_interval_us"),
        *("residual_deg", "outliers", "says", "do", "exit status"),
    ]
    assert answer["format"] == "tuneledger-light/1"
    assert answer["exit status"] == 1
    for name in ("offset", "delay"):
        value = answer[f"{name}_{'deg' if name == 'offset' else 'us'}"]
        low, high = answer[f"{name}_interval_{'deg' if name == 'offset' else 'us'}"]
        assert low < value < high
    assert answer["outliers"] == []


@pytest.mark.parametrize(
    "call",
    [
        ("audit", "missing.toml"),
        ("rehearse", LOG, REV_C, "--change", "missing.toml"),
        ("order", LOG, REV_C, "--change", "missing.toml"),
        ("prove", "--before", LOG, "--after", "missing.csv", REV_C),
        ("light", "missing.csv"),
    ],
    ids=lambda call: call[0],
)
def test_an_input_that_cannot_be_used_ends_in_2_and_writes_nothing(
    call: tuple[str, ...],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run([*call, "--json", "answer.json"]) == 2
    said = capsys.readouterr()
    assert "missing." in said.err
    assert "Traceback" not in said.err
    assert not Path("answer.json").exists()
