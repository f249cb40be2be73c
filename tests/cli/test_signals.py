"""`tuneledger signals`: the vocabulary for people and for machines."""

import json
from pathlib import Path

import pytest

from tuneledger.cli.main import run
from tuneledger.signals import SIGNALS


def test_every_signal_is_listed_with_unit_and_span(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["signals"]) == 0
    rows = capsys.readouterr().out.splitlines()
    assert [row.split("  ")[0] for row in rows] == list(SIGNALS)
    coolant = next(row for row in rows if row.startswith("engine coolant temperature"))
    assert "−40 to 150 °C" in coolant
    assert max(map(len, rows)) <= 90


def test_the_list_for_machines_holds_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["signals", "--json", "-"]) == 0
    value = json.loads(capsys.readouterr().out)
    assert value["format"] == "tuneledger-signals/1"
    assert [s["name"] for s in value["signals"]] == list(SIGNALS)
    assert run(["signals", "--json", "signals.json"]) == 0
    assert json.loads(Path("signals.json").read_text()) == value


def test_a_list_that_cannot_be_written_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["signals", "--json", "no/signals.json"]) == 2
    assert "the folder 'no' does not exist" in capsys.readouterr().err
