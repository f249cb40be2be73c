"""A proof from files, and the command."""

import json
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

import numpy as np
import polars as pl
import pytest

from tests.shared import SHARED, needs_cases
from tuneledger.change.prove import prove
from tuneledger.errors import TuneledgerError


@needs_cases
@pytest.mark.parametrize("name", ["C-1", "D-2", "G-2", "H2-1", "H4-1", "I-1"])
def test_a_shared_case_with_its_episodes_cut_out_proves_nothing(tmp_path: Path, name: str) -> None:
    folder = SHARED / "cases" / name
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    dress = truth["log_format"]
    lines = (folder / "log.csv").read_bytes().decode(dress["encoding"]).splitlines(keepends=True)
    head = dress["preamble_lines"] + 1 + bool(dress["unit_row"])
    times = pl.read_csv(folder / "truth.csv")["time_s"].to_numpy()
    keep = np.ones(times.shape, dtype=bool)
    for episode in truth["episodes"]:
        keep &= (times < episode["start_s"] - 0.3) | (times > episode["end_s"] + 0.3)
    kept = [line for line, stays in zip(lines[head:], keep, strict=True) if stays]
    (tmp_path / "cut.csv").write_bytes("".join([*lines[:head], *kept]).encode(dress["encoding"]))
    sheets = [folder / sheet for sheet in truth["calibrations"]]
    made = prove([folder / "log.csv"], [tmp_path / "cut.csv"], sheets, memory=False)
    assert {p.state for p in made.causes} == {"not shown"}


def written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    from tuneledger.car.cases import make_case, write_case

    folder = write_case(make_case("C", 3), tmp_path)
    monkeypatch.chdir(folder)
    lines = Path("log.csv").read_bytes().splitlines(keepends=True)
    half = len(lines) // 2
    Path("short.csv").write_bytes(b"".join(lines[:half]))
    Path("late.csv").write_bytes(b"".join([*lines[:20], *lines[half:]]))
    return sorted(Path().glob("rev-*.toml"))[0].name


def test_files_follow_their_option_and_sheets_may_stand_anywhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tuneledger.cli.main import run as cli

    name = written(tmp_path, monkeypatch)
    answers: list[Any] = []
    for call in (
        ["--before", "log.csv", "short.csv", "--after", "late.csv", name],
        [name, "--before", "log.csv", "--before=short.csv", "--after", "late.csv"],
    ):
        status = cli(["prove", *call, "--no-memory", "--json", "p.json"])
        assert status in (0, 1, 3)
        answers.append(json.loads(Path("p.json").read_text()))
    assert answers[0] == answers[1]


def test_a_log_that_belongs_to_neither_drive_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from tuneledger.cli.main import run as cli

    written(tmp_path, monkeypatch)
    call = ["prove", "short.csv", "--before", "log.csv", "--after", "log.csv", "--json", "p.json"]
    assert cli(call) == 2
    assert "Say --before or --after for a log" in capsys.readouterr().err
    assert not Path("p.json").exists()


@pytest.mark.parametrize("packed", [False, True])
def test_a_log_is_not_held_against_itself(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    packed: bool,
) -> None:
    from tuneledger.cli.main import run as cli

    name = written(tmp_path, monkeypatch)
    Path("friday.csv").write_bytes(Path("log.csv").read_bytes())
    if packed:
        with ZipFile("friday.zip", "w", ZIP_DEFLATED) as archive:
            archive.write("friday.csv")
    friday = "friday.zip" if packed else "friday.csv"
    call = ["prove", "--before", "log.csv", "--after", friday, name, "--json", "p.json"]
    assert cli(call) == 2
    told = capsys.readouterr().err
    assert "friday.csv" in told
    assert "it is the same log as log.csv" in told
    assert not Path("p.json").exists()


def test_a_side_without_a_log_is_refused() -> None:
    with pytest.raises(TuneledgerError, match="no log of the drive after"):
        prove(["a.csv"], [])
