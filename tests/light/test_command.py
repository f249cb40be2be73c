"""`tuneledger light` from file to answer."""

import json
from pathlib import Path

import pytest

from tuneledger.cli.main import run

GOOD = "rpm,commanded,observed\n900,10,12.5\n1500,10,12\n2500,10,11.5\n3500,10,11\n4500,10,10.5\n"
KEYS = [
    *("format", "offset_deg", "offset_interval_deg", "delay_us", "delay_interval_us"),
    *("residual_deg", "outliers", "says", "do"),
]


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("r.csv").write_text(GOOD)


def test_the_answer_has_the_keys_of_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["light", "r.csv", "--json", "-"]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert list(answer) == KEYS
    assert answer["format"] == "tuneledger-light/1"
    assert (
        answer["offset_interval_deg"][0] < answer["offset_deg"] < answer["offset_interval_deg"][1]
    )
    assert answer["outliers"] == []


def test_the_screen_says_first_what_is_wrong_and_fits(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["light", "r.csv"]) == 1
    text = capsys.readouterr().out
    assert text.startswith("The reference angle is off: the spark comes")
    assert len(text.splitlines()) <= 44
    assert max(map(len, text.splitlines())) <= 80
    for word in ("fan", "belts", "warm", "fixed advance", "shoot again", "doubles", "drive on"):
        assert word.casefold() in text.casefold().replace("\n           ", " ")


def test_one_reading_tells_nothing_and_is_an_answer_all_the_same(
    capsys: pytest.CaptureFixture[str],
) -> None:
    Path("one.csv").write_text("rpm,commanded,observed\n900,10,12\n")
    assert run(["light", "one.csv", "--json", "one.json"]) == 3
    answer = json.loads(Path("one.json").read_text())
    assert answer["offset_deg"] is None
    assert answer["delay_interval_us"] is None
    assert "Cannot tell yet" in capsys.readouterr().out


def test_a_bad_table_writes_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    Path("bad.csv").write_text("rpm,A,B\n900,10,12\n1500,10,12\n")
    assert run(["light", "bad.csv", "--json", "x.json"]) == 2
    assert "guessing here would turn the correction round" in capsys.readouterr().err
    assert not Path("x.json").exists()


def test_the_readings_are_not_overwritten() -> None:
    assert run(["light", "r.csv", "--json", "r.csv"]) == 2
    assert Path("r.csv").read_text() == GOOD
