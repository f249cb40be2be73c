"""The command on real files: a run of Kestrel written down, and input of every bad kind."""

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from jsonschema import Draft202012Validator

from tests.runs import MAP, NAMES, PRESSURES, SPEEDS, along, climb
from tests.shared import SHARED, needs_cases
from tests.statement.test_json import SCHEMA
from tuneledger.cli.main import run

UNITS = {signal: unit for signal, (_, unit) in NAMES.items()}
SHEET = f"""
format = "tuneledger-calibration/1"
revision = "D"
[spark.map]
axes = [
  {{ signal = "manifold absolute pressure", unit = "kPa", at = {list(PRESSURES)} }},
  {{ signal = "engine speed", unit = "rpm", at = {list(SPEEDS)} }},
]
values = {[list(row) for row in MAP]}
[[spark.correction]]
id = "charge-air"
title = "Hot charge air"
reason = "air temperature"
axes = [{{ signal = "intake air temperature", unit = "degC", at = [20, 40, 60, 80] }}]
values = [0.0, 0.0, -2.0, -5.0]
"""


def written_down(*, taken: bool = True, delivered: bool = True) -> str:
    """Kestrel's climb as a logger writes it."""
    day = climb()
    entry = along(day, "intake air temperature", (20, 40, 60, 80), (0, 0, -2, -5))
    asked = {"Spark scheduled": day.scheduled}
    given = {"Spark delivered": day.scheduled + (entry if taken else 0.0)} if delivered else {}
    columns = {"Time (s)": day.times, **asked, **given}
    columns |= {f"{signal} ({UNITS[signal]})": day.signals[signal] for signal in day.signals}
    rows = np.round(np.column_stack(list(columns.values())), 2)
    lines = [",".join(columns), *(",".join(f"{x:g}" for x in row) for row in rows)]
    return "\n".join(lines) + "\n"


@pytest.fixture(autouse=True)
def _no_memory(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("TUNELEDGER_HOME", str(tmp_path / "home"))


def test_a_log_and_a_sheet_give_text_json_ledger_page_and_roles(
    capsys: pytest.CaptureFixture[str],
) -> None:
    Path("climb.csv").write_text(written_down())
    Path("rev-d.toml").write_text(SHEET)
    status = run(
        ["reconcile", "rev-d.toml", "climb.csv", "--json", "s.json", "--ledger", "l.csv",
         "--page", "p.html", "--save-roles", "r.toml"]
    )  # fmt: skip
    assert status == 1
    text = capsys.readouterr().out
    assert "charge-air, revision D" in text
    statement = json.loads(Path("s.json").read_text())
    Draft202012Validator(SCHEMA).validate(statement)
    assert statement["causes"][0]["correction"] == "charge-air"
    ledger = pl.read_csv("l.csv")
    assert ledger.height == 1200
    assert ledger["unaccounted_deg"].abs().mean() < 0.1
    assert Path("p.html").read_text().lstrip().lower().startswith("<!doctype html>")

    # What was saved is accepted and leads to the same answer.
    again = ["reconcile", "climb.csv", "rev-d.toml", "--roles", "r.toml", "--json", "again.json"]
    assert run(again) == 1
    assert json.loads(Path("again.json").read_text())["causes"] == statement["causes"]


def test_a_log_that_agrees_ends_in_0_and_one_without_delivered_in_3(
    capsys: pytest.CaptureFixture[str],
) -> None:
    Path("climb.csv").write_text(written_down(taken=False))
    assert run(["reconcile", "climb.csv"]) == 0
    Path("half.csv").write_text(written_down(delivered=False))
    assert run(["reconcile", "half.csv"]) == 3
    assert "Needed     delivered advance" in capsys.readouterr().out


def of(text: str | bytes) -> Callable[[], list[str]]:
    def write() -> list[str]:
        Path("bad.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
        return ["bad.csv"]

    return write


def vanished() -> list[str]:
    return ["gone.csv"]


def folder() -> list[str]:
    Path("logs").mkdir()
    return ["logs"]


def twice() -> list[str]:
    Path("climb.csv").write_text(written_down())
    return ["climb.csv", "./climb.csv"]


def sheet_alone() -> list[str]:
    Path("rev-d.toml").write_text(SHEET)
    return ["rev-d.toml"]


def faulty_sheet() -> list[str]:
    Path("climb.csv").write_text(written_down())
    Path("rev-d.toml").write_text(SHEET.replace("[20, 40, 60, 80]", "[20, 40, 40, 80]"))
    return ["climb.csv", "rev-d.toml"]


def strange_roles() -> list[str]:
    Path("climb.csv").write_text(written_down())
    Path("r.toml").write_text('format = "tuneledger-roles/1"\n[roles]\n"gear" = "Nothing"\n')
    return ["climb.csv", "--roles", "r.toml"]


def rows_of(text: str) -> tuple[str, list[str]]:
    head, *rows = text.splitlines()
    return head, rows


def with_rows(change: Callable[[str, list[str]], list[str]]) -> Callable[[], list[str]]:
    """A good log with its lines changed."""

    def write() -> list[str]:
        lines = change(*rows_of(written_down()))
        Path("bad.csv").write_text("\n".join(lines) + "\n")
        return ["bad.csv"]

    return write


def without_time(head: str, rows: list[str]) -> list[str]:
    return [line.partition(",")[2] for line in (head, *rows)]


def backwards(head: str, rows: list[str]) -> list[str]:
    half = len(rows) // 2
    return [head, *rows[half:], *rows[:half]]


def standing_still(head: str, rows: list[str]) -> list[str]:
    return [head, *("5.0," + row.partition(",")[2] for row in rows)]


def ragged(head: str, rows: list[str]) -> list[str]:
    return [head, *(row if n % 5 else row + ",1,2" for n, row in enumerate(rows))]


def nothing_measured(head: str, rows: list[str]) -> list[str]:
    return [head, *(row.split(",")[0] + "," * row.count(",") for row in rows)]


def another_car_s_sheet() -> list[str]:
    Path("climb.csv").write_text(written_down())
    Path("other.toml").write_text(OTHER_CAR)
    return ["climb.csv", "other.toml"]


OTHER_CAR = """format = "tuneledger-calibration/1"
revision = "A"
[spark.map]
axes = [{ channel = "Frobnicator", at = [10, 20] }, { channel = "Widget", at = [1, 2] }]
values = [[1.0, 2.0], [3.0, 4.0]]
"""

BAD: dict[str, Callable[[], list[str]]] = {
    "not text at all": of(bytes(range(256)) * 40),
    "empty": of(""),
    "header only": of("Time (s),Spark scheduled,Spark delivered\n"),
    "prose": of("Dear tuner,\nthe timing is not what I asked for.\n"),
    "no time": with_rows(without_time),
    "time running backwards": with_rows(backwards),
    "time standing still": with_rows(standing_still),
    "ragged rows": with_rows(ragged),
    "all channels missing": with_rows(nothing_measured),
    "a sheet for another car": another_car_s_sheet,
    "vanished": vanished,
    "a folder": folder,
    "given twice": twice,
    "a sheet alone": sheet_alone,
    "a sheet with a fault": faulty_sheet,
    "roles for a channel that is not there": strange_roles,
}


@pytest.mark.parametrize("kind", BAD)
def test_bad_input_is_told_in_words_with_status_2_and_nothing_is_written(
    kind: str, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = BAD[kind]()
    before = sorted(p.name for p in Path().iterdir())
    status = run(
        ["reconcile", *arguments, "--json", "s.json", "--ledger", "l.csv", "--page", "p.html"]
    )
    printed = capsys.readouterr()
    assert status == 2, printed.err
    assert printed.out == ""
    assert len(printed.err.strip()) > 20
    assert "Traceback" not in printed.err
    assert sorted(p.name for p in Path().iterdir()) == before


@needs_cases
@pytest.mark.parametrize("case", ["A-1", "D-1", "F-1", "H2-1", "I-2", "J-2"])
def test_statements_of_known_cases_are_valid_and_fit_on_a_screen(
    case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = SHARED / "cases" / case
    truth = json.loads((folder / "truth.json").read_text())
    files = [str(folder / name) for name in ("log.csv", *truth["calibrations"])]
    status = run(["reconcile", *files, "--json", "s.json"])
    Draft202012Validator(SCHEMA).validate(json.loads(Path("s.json").read_text()))
    assert status in (0, 1, 3)
    assert len(capsys.readouterr().out.splitlines()) <= 41
